"""A reading that belongs to no choir: one exercise as files in a folder, six for a single line."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from bot.activities.tempo import reading_tempo_bpm
from bot.errors import Fault, InputProblems, NoExercise
from bot.media.render import make
from bot.media.request import KeyGiving, SoundRequest, StartingNote
from bot.music.both_ways import both_ways
from bot.music.composer import compose
from bot.music.exercise import Exercise
from bot.music.level import Level, level_of
from bot.music.page_options import PageOptions
from bot.music.parts import PART_RANGES, part_lines
from bot.music.pitch import Key
from bot.music.rhythm import Metre
from bot.music.sequence import Sequence as Steps
from bot.music.texture import parts_needed, texture_of
from bot.music.turns import Turn, turned
from bot.music.variants import together
from bot.music.voice import DEFAULT_RANGES, Clef, Voice
from bot.service.companion_words import in_turn_words
from bot.service.content import Content
from bot.service.criteria import compose_to_criteria
from bot.service.export import Format, Page, export, request_for
from bot.service.part_clefs import DEFAULT_CLEFS, clef_in
from bot.service.step_words import without_newest

_PLAIN = PageOptions()


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """What to compose: step ids, the voice at the top, and wishes that may stay open (None).

    `criteria` names a published reading instead of steps.
    """

    steps: Sequence[str]
    voice: Voice
    key: str | None = None
    metre: str | None = None
    measures: int | None = None
    seed: int = 0
    sequence: str = "steps-first"
    turn: Turn | None = None
    criteria: str | None = None
    both_ways: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class LooseLine:
    """What was composed, and a sentence for each thing that came out otherwise than at the step."""

    exercise: Exercise
    remarks: tuple[str, ...] = ()


def compose_loose(wish: Wish, content: Content) -> LooseLine:
    """Compose one line, or the parts of a voice step; InputProblems or NoExercise say why not."""
    remarks: tuple[str, ...] = ()
    if wish.criteria is not None:
        made = _inside(wish, wish.criteria, content)
    else:
        order, level, key, metre = wished(wish, content)
        made = _composed(wish, order, level, key, metre)
        remarks = (
            *without_newest(made, level, content.wording),
            *in_turn_words(made, order, level, content.wording),
        )
    return LooseLine(exercise=turned(made, wish.turn) if wish.turn else made, remarks=remarks)


def wished(wish: Wish, content: Content) -> tuple[Steps, Level, Key | None, Metre | None]:
    """Order of steps, level, key and metre of a wish; InputProblems lists all that is wrong."""
    faults: list[Fault] = []
    key = metre = None
    try:
        key = None if wish.key is None else Key.parse(wish.key)
    except ValueError as error:
        faults.append(Fault(place="--key", problem=str(error)))
    try:
        metre = None if wish.metre is None else Metre.parse(wish.metre)
    except ValueError as error:
        faults.append(Fault(place="--metre", problem=str(error)))
    if wish.measures is not None and wish.measures < 1:
        problem = f"{wish.measures} measures are no line"
        faults.append(Fault(place="--measures", problem=problem, remedy="write for example 4 or 8"))
    order = content.sequences.get(wish.sequence)
    if order is None:
        raise InputProblems([*faults, _no_order(wish, content)])
    try:
        level = level_of(order, wish.steps)
    except InputProblems as problems:
        faults += problems.faults
    if faults:
        raise InputProblems(faults)
    return order, level, key, metre


def _no_order(wish: Wish, content: Content) -> Fault:
    problem, known = f"no order of steps {wish.sequence!r}", ", ".join(content.sequences)
    return Fault(place="--sequence", problem=problem, remedy=known)


def _composed(
    wish: Wish, sequence: Steps, level: Level, key: Key | None, metre: Metre | None
) -> Exercise:
    parts = parts_needed(texture_of(level))
    if parts == 1:
        level = both_ways(level) if wish.both_ways else level
        limits = (DEFAULT_RANGES[wish.voice],)
        placement = together(level, limits, key)
        return compose(
            level, placement, limits, metre=metre, measures=wish.measures, seed=wish.seed
        )
    ranges = PART_RANGES.get((wish.voice, parts))
    if wish.both_ways:
        raise NoExercise("refusal.mirror_parts", step=level.steps[2])
    if ranges is None:
        raise NoExercise(
            "refusal.voice_parts", step=level.steps[2], parts=parts, voice=wish.voice.value
        )
    return part_lines(
        sequence, level, ranges, key, metre=metre, measures=wish.measures, seed=wish.seed
    ).exercise


def _inside(wish: Wish, criteria: str, content: Content) -> Exercise:
    """A line inside a published reading, which says for itself what else could be wished for."""
    asked = {"--metre": wish.metre, "--measures": wish.measures, "--both-ways": wish.both_ways}
    faults = [
        Fault(place=option, problem="does not go with --criteria", remedy="the reading says it")
        for option, value in asked.items()
        if value is not None and value is not False
    ]
    if wish.sequence not in content.sequences:
        faults.append(_no_order(wish, content))
    if faults:
        raise InputProblems(faults)
    return compose_to_criteria(
        criteria,
        content,
        wish.voice,
        key=wish.key,
        seed=wish.seed,
        sequence=wish.sequence,
    )


def part_clefs(exercise: Exercise, voice: Voice) -> tuple[Clef, ...]:
    """The clef of each part of a voice that has its usual clef."""
    usual, parts = DEFAULT_CLEFS[voice], len(exercise.parts)
    ranges = PART_RANGES.get((voice, parts), (None,) * parts)
    return tuple(clef_in(each, voice, usual) if each else usual for each in ranges)


def write_reading(
    exercise: Exercise,
    clefs: Sequence[Clef],
    content: Content,
    folder: Path,
    options: PageOptions = _PLAIN,
    formats: Sequence[str] = (),
    labels: Sequence[str] = (),
) -> list[Path]:
    """Write picture, music, sounds and text alternative into a folder; the files' paths.

    `clefs` has one for each part: those of `part_clefs` where all parts belong to one voice.
    `pitch.mp3` holds the starting note alone, `pitch-2.mp3` that of a second part. `options` shape
    the pictures, `labels` name the parts. `formats` are endings of `Format` to be written too,
    `letters` for sol-fa letters. Files of the same names are written over. Refused where a format
    cannot hold the music.
    """
    parts = range(len(exercise.parts))
    usual = tuple(content.wording("choir.part", numeral="I" * (part + 1)) for part in parts)
    page = Page(
        exercise=exercise,
        clefs=tuple(clefs),
        labels=tuple(labels or usual) if len(parts) > 1 else (),
        options=options,
    )
    wished = [Format.LETTERS if name == "letters" else Format(name) for name in formats]
    kinds = dict.fromkeys((Format.PNG, Format.SVG, Format.MUSICXML, Format.TEXT, *wished))
    made = {f"reading.{kind}": _exported(page, kind, content) for kind in kinds}
    made |= {name: make(sound) for name, sound in _sounds(exercise).items()}
    folder.mkdir(parents=True, exist_ok=True)
    for name, data in made.items():
        (folder / name).write_bytes(data)
    return [folder / name for name in made]


def _exported(page: Page, kind: Format, content: Content) -> bytes:
    wanted = request_for(page, kind)
    return export(page, kind, content.wording, None if wanted is None else make(wanted))


def _sounds(exercise: Exercise) -> Mapping[str, SoundRequest]:
    tempo = reading_tempo_bpm(exercise, None)
    key = exercise.key
    do = key.pitch(0, 0, exercise.parts[0].do_octave)
    return {
        "key.mp3": SoundRequest(sound=KeyGiving(key=key, do=do, tempo_bpm=tempo)),
        "pitch.mp3": SoundRequest(sound=StartingNote(pitch=exercise.first_pitch())),
    } | {
        f"pitch-{part + 1}.mp3": SoundRequest(sound=StartingNote(pitch=exercise.first_pitch(part)))
        for part in range(1, len(exercise.parts))
    }
