"""How voices that sound at once may stand and move: the textbook rules for young part-singers.

* they do not cross; on strong beats and on long notes they are consonant, and no fourth stands
  above the lowest voice;
* elsewhere one of them may pass or turn by step while the others stay, and all go on by step;
* no fifths, octaves or unisons one after the other, in the same or in contrary motion; none
  reached by outer voices the same way with a leap above; no two leaps of a fourth the same way.

Everything here works on arrays of heights, one array for each singing voice from the highest to
the lowest, that broadcast together. Heights are spelled (`Pitch.base40`, forty to the octave): do
under si is no third, though a keyboard plays one.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

Heights = Sequence[NDArray[np.int64]]
Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]

_OCTAVE = 40
_FIFTH, _FOURTH = 23, 17
_PERFECT = (0, _FIFTH)
_IMPERFECT = (11, 12, 28, 29)  # minor and major third and sixth
_STEP = 6  # a whole step
# How welcome an interval above the lower voice is beside a third or sixth.
_WELCOME = {0: 0.3, _FIFTH: 0.45, _FOURTH: 0.6}
_PASSING, _OVERLAP = 0.25, 0.3
_CONTRARY, _SIMILAR, _OBLIQUE, _STILL = 1.6, 0.9, 0.8, 0.35


@dataclass(frozen=True, slots=True, kw_only=True)
class Manner:
    """How strictly voices keep together.

    `chain`: so many moves in parallel thirds or sixths in a row at most, whatever is repeated among
    them, None without a limit. `full`: three voices have the third of a chord on every strong beat.
    `crossing` says how welcome it is that voices change places, 0 where they must not. `drone`: a
    fourth may stand above the lowest voice, as over a voice that stays on so.
    """

    chain: int | None = None
    full: bool = False
    crossing: float = 0.0
    drone: bool = False


def pairs(sides: Sequence[int]) -> Iterator[tuple[int, int]]:
    """Places of two voices, the higher first, that sing different lines."""
    for high, low in combinations(range(len(sides)), 2):
        if sides[high] != sides[low]:
            yield high, low


def consonant(heights: Heights, sides: Sequence[int], manner: Manner) -> Mask:
    """Where all voices are consonant and none crosses another."""
    good: Mask = np.array(True)
    if not heights:
        return good
    lowest = _least(heights)
    for high, low in pairs(sides):
        span = heights[high] - heights[low]
        kind = np.abs(span) % _OCTAVE
        bass = (np.minimum(heights[high], heights[low]) == lowest) & (not manner.drone)
        stands = np.isin(kind, (*_PERFECT, *_IMPERFECT)) | ((kind == _FOURTH) & ~bass)
        good = good & stands & in_order(span, manner)
    return good


def in_order(span: NDArray[np.int64], manner: Manner) -> Mask:
    """Where the higher voice of a pair is not below the lower one."""
    kept: Mask = span >= 0
    return np.array(True) if manner.crossing else kept


def ordered(heights: Heights, sides: Sequence[int], manner: Manner) -> Mask:
    """Where no voice crosses another, consonant or not."""
    good: Mask = np.array(True)
    for high, low in pairs(sides):
        good = good & in_order(heights[high] - heights[low], manner)
    return good


def kept_apart(heights: Heights, sides: Sequence[int], manner: Manner) -> Floats:
    """1 where voices keep their order, less where they cross."""
    weight: Floats = np.array(1.0)
    for high, low in pairs(sides):
        weight = weight * np.where(heights[high] < heights[low], manner.crossing, 1.0)
    return weight


def welcome(heights: Heights, sides: Sequence[int]) -> Floats:
    """How welcome a consonance is, 1 for thirds and sixths all over."""
    weight: Floats = np.array(1.0)
    table = np.array([_WELCOME.get(kind, 1.0) for kind in range(_OCTAVE)])
    for high, low in pairs(sides):
        weight = weight * table[np.abs(heights[high] - heights[low]) % _OCTAVE]
    return weight


def motion(before: Heights, after: Heights, sides: Sequence[int], manner: Manner) -> Floats:
    """How welcome a move of all voices is; 0 where a rule forbids it."""
    weight: Floats = np.array(1.0)
    outer = (0, len(sides) - 1)
    for high, low in pairs(sides):
        up, down = after[high] - before[high], after[low] - before[low]
        was = np.abs(before[high] - before[low]) % _OCTAVE
        now = np.abs(after[high] - after[low]) % _OCTAVE
        both = (up != 0) & (down != 0)
        forbidden = both & (was == now) & np.isin(now, _PERFECT)
        similar = both & ((up > 0) == (down > 0))
        if (high, low) == outer:
            forbidden = forbidden | (similar & np.isin(now, _PERFECT) & (np.abs(up) > _STEP))
        leaps = (np.abs(up) >= _FOURTH) & (np.abs(down) >= _FOURTH)
        forbidden = forbidden | (similar & leaps)
        weight = weight * np.where(similar, _SIMILAR, np.where(both, _CONTRARY, _OBLIQUE))
        weight = weight * np.where((up == 0) & (down == 0), _STILL / _OBLIQUE, 1.0)
        if not manner.crossing:
            overlaps = (after[high] < before[low]) | (after[low] > before[high])
            weight = weight * np.where(overlaps, _OVERLAP, 1.0)
        weight = np.where(forbidden, 0.0, weight)
    return weight


def passing(before: Heights, after: Heights, sides: Sequence[int]) -> Mask:
    """Where just one line moves, and by step: the way into a dissonance."""
    moving: NDArray[np.int64] = np.array(0)
    small: Mask = np.array(True)
    for place in _first_of_each(sides):
        size = np.abs(after[place] - before[place])
        moving = moving + (size > 0)
        small = small & (size <= _STEP)
    single: Mask = moving == 1
    return small & single


def stepwise(before: Heights, after: Heights, sides: Sequence[int]) -> Mask:
    """Where no line moves further than a step and some line moves: the way out of a dissonance."""
    small: Mask = np.array(True)
    moving: Mask = np.array(False)
    for place in _first_of_each(sides):
        size = np.abs(after[place] - before[place])
        small = small & (size <= _STEP)
        moving = moving | (size > 0)
    return small & moving


def still(before: Heights, after: Heights) -> Mask:
    """Where no voice moves."""
    found: Mask = np.array(True)
    for was, now in zip(before, after, strict=True):
        same: Mask = was == now
        found = found & same
    return found


def chained(before: Heights, after: Heights, sides: Sequence[int]) -> Mask:
    """Where two voices go on in the same third or sixth, the same way."""
    found: Mask = np.array(False)
    for high, low in pairs(sides):
        up, down = after[high] - before[high], after[low] - before[low]
        was, now = np.abs(before[high] - before[low]), np.abs(after[high] - after[low])
        kept = np.isin(now % _OCTAVE, _IMPERFECT) & np.isin(was % _OCTAVE, _IMPERFECT)
        same = np.abs(now - was) <= 1
        found = found | (kept & same & (up != 0) & ((up > 0) == (down > 0)) & (down != 0))
    return found


def passing_weight() -> float:
    """How welcome a passing dissonance is beside a third."""
    return _PASSING


def _least(heights: Heights) -> NDArray[np.int64]:
    lowest = heights[0]
    for each in heights[1:]:
        lowest = np.minimum(lowest, each)
    return lowest


def _first_of_each(sides: Sequence[int]) -> list[int]:
    return [sides.index(side) for side in dict.fromkeys(sides)]
