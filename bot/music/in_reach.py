"""What several voices can sing together: at the choir's step, or at one below it in reach of all.

Voices that sing the same line need the same tones, and a changing voice and a baritone share few.
Where no key that may be had gives them those of the step, they read the highest pitch step below it
that some key does give them.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

from bot.errors import NoExercise
from bot.music.companion import levels_down
from bot.music.level import Level
from bot.music.sequence import Sequence as Steps

_T = TypeVar("_T")
_OUT_OF_REACH = ("refusal.range", "refusal.leads_on", "refusal.in_no_key")


def in_reach(sequence: Steps, level: Level, made: Callable[[Level], _T]) -> tuple[_T, Level]:
    """What `made` makes of a level, else of the first below it in reach, and which level that is.

    Raises what `made` raises; where nothing is in reach, what it says of the level itself, and
    "refusal.each_others" where no key at all gives a voice its tones.
    """
    out_of_reach: NoExercise | None = None
    for lower in levels_down(sequence, level):
        try:
            return made(lower), lower
        except NoExercise as refusal:
            if refusal.key not in _OUT_OF_REACH:
                raise
            out_of_reach = out_of_reach or refusal
    assert out_of_reach is not None, "the level itself was tried"
    if out_of_reach.key == "refusal.in_no_key":
        raise NoExercise("refusal.each_others", **out_of_reach.values)
    raise out_of_reach
