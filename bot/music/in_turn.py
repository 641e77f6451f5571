"""One line sung in turn, as an echo or a canon: at the choir's step, or at one in reach of all.

Voices that sing the same line need the same tones, and a changing voice and a baritone share few.
Where no key gives them those of the step, they read the highest pitch step below it that some key
does give them.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from bot.errors import NoExercise
from bot.music.companion import Footing, RoomPlan, levels_down
from bot.music.echo import echoed
from bot.music.exercise import Exercise
from bot.music.level import Level
from bot.music.sequence import Sequence as Steps
from bot.music.texture import Texture

Copied = tuple[Exercise, RoomPlan]
_OUT_OF_REACH = ("refusal.range", "refusal.leads_on")


def in_turn(
    sequence: Steps, level: Level, copied: Callable[[Level], Copied | None]
) -> Copied | None:
    """What `copied` makes of a level, else of the first below it that lies in reach.

    None where it makes nothing of it. Raises what `copied` raises; where nothing is in reach, what
    it says of the level itself.
    """
    out_of_reach: NoExercise | None = None
    for lower in levels_down(sequence, level):
        try:
            found = copied(lower)
        except NoExercise as refusal:
            if refusal.key not in _OUT_OF_REACH:
                raise
            out_of_reach = out_of_reach or refusal
            continue
        return found and (found[0], found[1] if out_of_reach is None else _lower(found[1]))
    assert out_of_reach is not None, "the level itself was tried"
    raise out_of_reach


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
