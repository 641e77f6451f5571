"""A reading read another way: what is sung, what stands on the page, what is new in it. Pure."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from bot.activities.choir import Choir, Steps
from bot.activities.reading import Reading
from bot.activities.way import Way
from bot.errors import Refused
from bot.music.exercise import Exercise, Tone
from bot.music.needs import Atom, Kind, needs
from bot.music.sequence import Sequence
from bot.music.turns import (
    echo_halves,
    line_by_line,
    measures_to_hide,
    only_tone,
    retrograde,
    rhythm_only,
)
from bot.service.lesson_line import Sign, StageMedia, signs
from bot.service.placing import line_alone
from bot.wording import Wording

_DO = Tone(step=0)
_TOLD = 3  # things that are new; more is too much to hear at once


@dataclass(frozen=True, slots=True, kw_only=True)
class Turned:
    """A reading in one way. `pulses` and `pickup` count felt beats of what is sung.

    `page` has the signs of the picture in the order and at the times at which they are sung, for
    each part; `answer` those of the page on which it is written out, empty where there is none.
    `hidden` are measures to cover while it is sung, `new` says what the choir has not read yet,
    `wordless` that the line has words and is sung without them.
    """

    way: Way
    sung: Reading
    pulses: float
    pickup: float
    page: tuple[tuple[Sign, ...], ...]
    answer: tuple[tuple[Sign, ...], ...]
    hidden: tuple[int, ...]
    new: tuple[str, ...]
    wordless: bool


def turned_reading(
    reading: Reading, way: Way, choir: Choir, sequence: Sequence | None, say: Wording
) -> Turned:
    """A reading in that way; Refused for a line that cannot be read so.

    ("way.no_halves") where it does not fall into two, ("way.no_do") where it has no do,
    ("way.no_lines") where it has one line.
    """
    sung = sung_reading(reading, way)
    shown = page_reading(reading, way)
    exercise = sung.exercise
    parts = range(len(shown.parts) if len(shown.exercise.parts) == 1 else 1)
    length = float(reading.exercise.length / reading.exercise.metre.pulse)
    return Turned(
        way=way,
        sung=sung,
        pulses=float(exercise.length / exercise.metre.pulse),
        pickup=float(exercise.pickup / exercise.metre.pulse),
        page=tuple(_page(shown, part, way, length) for part in parts),
        answer=tuple(signs(sung, part) for part in parts) if way is Way.RETROGRADE else (),
        hidden=hidden_in(reading) if way is Way.HIDDEN_MEASURES else (),
        new=_new(sung, choir.steps, sequence, say) if way is Way.RETROGRADE and sequence else (),
        wordless=way is Way.RETROGRADE and any(part.words for part in reading.exercise.parts),
    )


def sung_reading(reading: Reading, way: Way) -> Reading:
    """What sounds when a reading is read in that way; the parts keep their octaves."""
    return replace(reading, exercise=_sung(reading.exercise, way))


def page_reading(reading: Reading, way: Way) -> Reading:
    """What stands on the page: the day's own line, and the bare rhythm where that is read."""
    return sung_reading(reading, way) if way is Way.RHYTHM_ONLY else reading


def in_way(reading: Reading, media: StageMedia, way: Way) -> Reading:
    """The reading of which the stage wants a picture or sound: the page's, or what is sung."""
    return page_reading(reading, way) if media is StageMedia.PICTURE else sung_reading(reading, way)


def page_choir(choir: Choir, way: Way) -> Choir:
    """The choir with the page on which that way is read: one line for the rhythm alone."""
    if way is not Way.RHYTHM_ONLY:
        return choir
    shown = choir.presentation
    return replace(choir, presentation=replace(shown, page=shown.page.bare_rhythm()))


def hidden_in(reading: Reading) -> tuple[int, ...]:
    """The measures of a reading that are covered: always the same ones for one reading."""
    return measures_to_hide(reading.exercise.measures, reading.seed)


def _sung(exercise: Exercise, way: Way) -> Exercise:
    match way:
        case Way.PLAIN | Way.CURTAIN | Way.HIDDEN_MEASURES:
            return exercise
        case Way.RETROGRADE:
            return retrograde(exercise)
        case Way.RHYTHM_ONLY:
            return rhythm_only(exercise)
        case Way.ONLY_DO:
            turned = only_tone(exercise, _DO)
            if not any(part.tones() for part in turned.parts):
                raise Refused("way.no_do")
            return turned
        case Way.ECHO_HALVES:
            try:
                return echo_halves(exercise)
            except ValueError as error:
                raise Refused("way.no_halves") from error
        case Way.LINE_BY_LINE:
            try:
                return line_by_line(exercise)
            except ValueError as error:
                raise Refused("way.no_lines") from error


def _page(shown: Reading, part: int, way: Way, length: float) -> tuple[Sign, ...]:
    page = signs(shown, part)
    if way is Way.LINE_BY_LINE:
        return _line_by_line(page, shown, length)
    return tuple(_in_time(page, way, length))


def _line_by_line(page: tuple[Sign, ...], reading: Reading, length: float) -> tuple[Sign, ...]:
    """The page's signs as each line is sung by itself, then all at once."""
    lines = len(reading.exercise.parts)
    timed = (
        replace(sign, at=sign.at + turn * length)
        for sign in page
        for turn in (reading.parts[sign.part].line, lines)
    )
    return tuple(sorted(timed, key=lambda sign: (sign.part, sign.at)))


def _in_time(page: tuple[Sign, ...], way: Way, length: float) -> Iterator[Sign]:
    """The page's signs at the times at which they are sung; `length` of the page in pulses."""
    if way is Way.RETROGRADE:
        back = (replace(sign, at=length - sign.at - sign.length) for sign in page)
        yield from sorted(back, key=lambda sign: (sign.part, sign.at))
    elif way is Way.ECHO_HALVES:
        twice = (
            replace(sign, at=sign.at + (0 if sign.at < length / 2 else length / 2) + late)
            for sign in page
            for late in (0, length / 2)
        )
        yield from sorted(twice, key=lambda sign: (sign.part, sign.at))
    else:
        yield from page


def _new(reading: Reading, steps: Steps, sequence: Sequence, say: Wording) -> tuple[str, ...]:
    """What a line asks that the choir's steps have not brought yet, each thing once, in words."""
    found: dict[str, None] = {}
    own = (steps.pitch, steps.rhythm, steps.voice)
    met = {step.id for at in sequence.steps if at.id in own for step in sequence.up_to(at)}
    for line in range(len(reading.exercise.parts)):
        for atom in needs(line_alone(reading.exercise, line), sequence).atoms:
            if atom.step not in met:
                found[_told(atom, say)] = None
    return tuple(found)[:_TOLD]


def _told(atom: Atom, say: Wording) -> str:
    # The signs of a rhythm are for those who write steps; a choir sees it on the page.
    if atom.kind is Kind.CELL:
        return say("way.new_rhythm")
    return say(atom.kind, what=atom.what)
