"""What is likely in the rhythm of a line: fitted weights, and what folk songs cannot tell by hand.

Tunes say how measures go. They have too few rests and rare cells to say where these belong, so a
cell without numbers of its own counts by its `weight` in the sequence, and rests keep factors set
by hand.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

from bot.music.measure_traits import placed_cells, plain_traits, role_traits
from bot.music.patterns import Name, Pattern, Role, role_of, ticks
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


class MeasureWeights:
    """How usual measures of rhythm are in the lines of one length and metre.

    A measure is looked at once in each of its roles, whatever form and colours ask for it.
    """

    def __init__(self, measures: int, metre: Metre) -> None:
        self._metre = metre
        self._roles = [role_of(place, measures) for place in range(measures)]
        # Places of one role are as good as the first of them.
        self._as_good = [self._roles.index(role) for role in self._roles]
        self._weights: dict[tuple[Name, tuple[int, ...]], int] = {}
        self._plain: dict[Name, _Plain] = {}
        self._likely: dict[tuple[Name, int], float] = {}

    def of(self, pattern: Pattern, places: Sequence[int]) -> int:
        """How usual a measure is in all its places (from 0), at least 1."""
        known = pattern.name, tuple([self._as_good[place] for place in places])
        if known not in self._weights:
            self._weights[known] = self._weigh(pattern, *known)
        return self._weights[known]

    def _weigh(self, pattern: Pattern, name: Name, places: Sequence[int]) -> int:
        likely = math.fsum(self._how_likely(pattern, name, place) for place in places)
        weight = math.exp(likely / len(places))
        roles = {self._roles[place] for place in places}
        weight *= _rests(pattern, roles, ticks(self._metre.measure))
        colours = {cell.step for cell in pattern.cells if not cell.plain}
        weight *= _SECOND_COLOUR ** max(len(colours) - 1, 0)
        return max(round(weight * _SCALE), 1)

    def _how_likely(self, pattern: Pattern, name: Name, place: int) -> float:
        """The logarithm of how usual a measure is in the role of a place."""
        if (name, place) not in self._likely:
            if name not in self._plain:
                self._plain[name] = _plain(pattern, self._metre)
            known, unknown = self._plain[name]
            traits = role_traits(pattern, self._roles[place], self._metre)
            here = (MEASURE.get(trait, 0.0) for trait in traits)
            self._likely[name, place] = math.fsum((*known, *here)) + unknown
        return self._likely[name, place]


class _Plain(NamedTuple):
    """What a measure has in every role: weights of traits that tunes tell of, and of the rest."""

    known: Sequence[float]
    unknown: float


def _plain(pattern: Pattern, metre: Metre) -> _Plain:
    known = [MEASURE.get(trait, 0.0) for trait in plain_traits(pattern, metre)]
    unknown = (
        math.log(cell.weight)
        for cell, name in zip(pattern.cells, placed_cells(pattern, metre), strict=True)
        if name not in MEASURE or metre.compound
    )
    return _Plain(known, math.fsum(unknown))


def measure_weight(pattern: Pattern, places: Sequence[int], measures: int, metre: Metre) -> int:
    """How usual one measure of rhythm is in all its places (from 0) of a line, at least 1."""
    return MeasureWeights(measures, metre).of(pattern, places)


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
