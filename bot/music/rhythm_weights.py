"""What is likely in the rhythm of a line: fitted weights, and what folk songs cannot tell by hand.

Tunes say how measures go. They have too few rests and rare cells to say where these belong, so a
cell without numbers of its own counts by its `weight` in the sequence, and rests keep factors set
by hand.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from bot.music.measure_traits import measure_traits, placed_cells
from bot.music.patterns import Pattern, Role, role_of, ticks
from bot.music.rhythm import Metre
from bot.music.weights import MEASURE

_SCALE = 1_000_000  # weights of measures are whole numbers, so that sums over rhythms are exact

_SECOND_COLOUR = 0.5
HELD_USUAL = 0.4  # how usual notes held over bar lines are beside other colours
_HELD = 0.4  # how usual it is to hold a note over a bar line, where a line does so
_EARLY_REST = 0.3  # not at the end of its measure
_SECOND_REST = 0.3
_REST_BEFORE_THE_LAST = 0.03  # re, a rest, do: the cadence falls apart
_REST_INTO_THE_LAST = 0.15


def measure_weight(pattern: Pattern, places: Sequence[int], measures: int, metre: Metre) -> int:
    """How usual a measure of rhythm is in all its places (from 0) of a line, at least 1."""
    roles = [role_of(place, measures) for place in places]
    likely = {role: _likely(pattern, role, metre) for role in set(roles)}
    weight = math.exp(math.fsum(likely[role] for role in roles) / len(roles))
    weight *= _rests(pattern, set(roles), ticks(metre.measure))
    colours = {cell.step for cell in pattern.cells if not cell.plain}
    weight *= _SECOND_COLOUR ** max(len(colours) - 1, 0)
    return max(round(weight * _SCALE), 1)


def _likely(pattern: Pattern, role: Role, metre: Metre) -> float:
    """The logarithm of how usual a measure is in one role."""
    known = math.fsum(MEASURE.get(name, 0.0) for name in measure_traits(pattern, role, metre))
    unknown = (
        math.log(cell.weight)
        for cell, name in zip(pattern.cells, placed_cells(pattern, metre), strict=True)
        if name not in MEASURE or metre.compound
    )
    return known + math.fsum(unknown)


def _rests(pattern: Pattern, roles: set[Role], measure: int) -> float:
    rests = [each for each in pattern.struck if each.rest]
    weight = _SECOND_REST ** max(len(rests) - 1, 0)
    ends = bool(roles & {Role.HALF, Role.CLOSE})
    for each in rests:
        if each.offset + each.ticks != measure:
            weight *= _REST_BEFORE_THE_LAST if ends else _EARLY_REST
        elif Role.LEAD in roles:
            weight *= _REST_INTO_THE_LAST
    return float(weight)


def held_weight(weight: int) -> int:
    """The weight of a measure whose last note is held over the bar line."""
    return max(round(weight * _HELD), 1)


def colour_share(others: int) -> float:
    """How often a line has so many colours beside the newest."""
    return (0.35, 0.4, 0.25)[min(others, 2)]
