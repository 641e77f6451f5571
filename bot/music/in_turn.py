"""One line sung in turn, as an echo or a canon: at the choir's step, or at one in reach of all."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from bot.music.companion import Footing, RoomPlan
from bot.music.echo import echoed
from bot.music.exercise import Exercise
from bot.music.in_reach import in_reach
from bot.music.level import Level
from bot.music.sequence import Sequence as Steps
from bot.music.texture import Texture

Copied = tuple[Exercise, RoomPlan]


def in_turn(
    sequence: Steps, level: Level, copied: Callable[[Level], Copied | None]
) -> Copied | None:
    """What `copied` makes of a level, else of the first below it that lies in reach.

    None where it makes nothing of it. Raises as `in_reach` does.
    """
    found, at = in_reach(sequence, level, copied)
    if found is None or at.steps == level.steps:
        return found
    return found[0], _lower(found[1])


def sung_once(exercise: Exercise, texture: Texture) -> Exercise:
    """The line of an echo or a canon, as one part alone reads it."""
    if texture is Texture.ECHO:
        return echoed(exercise)
    half = exercise.length / 2
    first = exercise.parts[0]
    notes = tuple(note for at, note in first.timed() if at < half)
    return replace(exercise, parts=(replace(first, notes=notes, words=()),))


def _lower(plan: RoomPlan) -> RoomPlan:
    lines = tuple(replace(line, footing=Footing.LOWER_STEP) for line in plan.lines)
    return replace(plan, lines=lines)
