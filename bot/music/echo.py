"""Echo: a line of four measures, each measure sung by the first part and sung again by the others.

The first entry of young part-singers (Choral Journal, March and April 2023): nobody sings against
anybody yet, each part hears what it is going to sing, and both keep the beat through rests. The
line itself is drawn as any line of the level, so it comes with its exact probability.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace
from random import Random

from bot.errors import NoExercise
from bot.music.cell import HELD
from bot.music.companion import RoomPlan, same_line
from bot.music.composer import Composer
from bot.music.exercise import Exercise, Note, Part
from bot.music.level import Level
from bot.music.patterns import PHRASE
from bot.music.pitch import Key
from bot.music.placement import Placement, tones_within
from bot.music.rhythm import Metre
from bot.music.variants import together
from bot.music.voice import VoiceRange

ENTRY = 1  # measures after which the others answer
_LENGTH = 2 * PHRASE


def echo(
    level: Level,
    ranges: Sequence[VoiceRange],
    key: Key | None,
    *,
    metre: Metre | None,
    measures: int | None,
    random: Random,
    seen: Collection[Exercise],
) -> tuple[Exercise, RoomPlan]:
    """An echo of eight measures: the highest voice sings each measure first, the others answer.

    Raises NoExercise: "refusal.measures", "refusal.echo" where the newest rhythm crosses the bar
    line, and what `compose` raises for range, metre and lines all read.
    """
    if measures not in (None, _LENGTH):
        raise NoExercise(
            "refusal.measures", measures=measures, step=level.steps[2], known=str(_LENGTH)
        )
    level = _within_measures(level)
    placement = together(level, ranges, key)
    composer = Composer(level, tones_within(level, placement, ranges))
    line = composer.choose(random, metre=metre, measures=PHRASE, seen=[*_called(seen)])
    called = line.exercise(placement.key, placement.do_octaves[0])
    return _answered(called, placement), same_line(level, composer.tones, placement)


def _within_measures(level: Level) -> Level:
    """The level without what crosses a bar line, where a measure could not be sung by itself."""
    plain = replace(level, pickup=None, held=())
    focus = level.rhythm_focus
    if focus and (focus.pickup or HELD in focus.cells):
        raise NoExercise("refusal.echo", step=level.steps[1])
    return plain


def _answered(called: Exercise, placement: Placement) -> Exercise:
    """Each measure of a line and a measure of rest, in turn; the others a measure later."""
    rest = Note(duration=called.metre.measure)
    first: list[Note] = []
    for measure in _measures(called):
        first += [*measure, rest]
    others = (rest, *first[:-1])
    octaves = placement.do_octaves
    return replace(
        called,
        parts=(
            Part(notes=tuple(first), do_octave=octaves[0]),
            Part(notes=others, do_octave=octaves[1]),
        ),
    )


def _measures(line: Exercise) -> Iterator[tuple[Note, ...]]:
    notes: list[Note] = []
    for offset, note in line.parts[0].timed():
        notes.append(note)
        if (offset + note.duration) % line.metre.measure == 0:
            yield tuple(notes)
            notes = []


def _called(seen: Collection[Exercise]) -> Iterator[Exercise]:
    """The lines of the echoes among exercises."""
    for exercise in seen:
        rest = Note(duration=exercise.metre.measure)
        first = exercise.parts[0].notes
        if len(exercise.parts) == 2 and exercise.parts[1].notes == (rest, *first[:-1]):
            yield echoed(exercise)


def echoed(exercise: Exercise) -> Exercise:
    """The line of an echo: what its first part sings, without the rests between."""
    line = tuple(note for measure in [*_measures(exercise)][::2] for note in measure)
    return replace(exercise, parts=(replace(exercise.parts[0], notes=line, words=()),))
