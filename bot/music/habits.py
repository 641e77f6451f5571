"""Where a note stands in its line, as far as its weight looks at it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from bot.music.exercise import Tone

# Where a line lies among many tones: in the middle, lower, higher. A tune keeps to a sixth or so.
_LIES = {0: 0.5, -1: 0.25, 1: 0.25}
_WIDE = 7  # scale steps from which on a line may lie lower or higher

RATHER = 1 << 7
AFTER_QUICK, ON_QUICK = 1, 2
NEW = 1.8  # the newest element comes rather more often than it must


class Place(NamedTuple):
    """Where a note stands.

    `strength` 3 first beat, 2 middle, 1 a beat, 0 between; `length` 0 shorter than a beat, 1 a
    beat, 2 longer; `phrase` 0 the only one, 1 first, 2 last; `measure` from 0 within the phrase;
    `ends` whether the note is the last of its phrase; `lie` -1 where the line lies low, 1 high;
    `degrees` which degrees of the scale may stand there, a bit for each, 0 for any; with the bit
    RATHER they are only more welcome than others; `halts` whether a rest follows in the measure;
    `quick` has the bits AFTER_QUICK and ON_QUICK where the note before it in its phrase, or it
    itself, is shorter than an eighth.
    """

    strength: int
    length: int
    phrase: int
    measure: int
    ends: bool = False
    lie: int = 0
    degrees: int = 0
    halts: bool = False
    quick: int = 0


def lies_of(tones: Sequence[Tone]) -> dict[int, float]:
    """Where a line of some tones, the lowest first, may lie, with how often."""
    return _LIES if tones[-1].step - tones[0].step >= _WIDE else {0: 1.0}
