"""What is likely in the rhythm of a line: numbers set by hand, as factors that multiply."""

from __future__ import annotations

from bot.music.patterns import Pattern, Role, ticks
from bot.music.rhythm import Metre

_SCALE = 10_000  # weights of measures are whole numbers, so that sums over rhythms are exact

# (notes a beat at most, factor within a phrase, factor where a phrase ends)
_DENSITY = (
    (0.25, 0.1, 1.0),
    (0.34, 0.3, 1.2),
    (0.5, 0.45, 0.8),
    (0.67, 0.9, 0.9),
    (0.75, 1.2, 1.3),
    (1.0, 1.1, 0.7),
    (1.25, 1.2, 0.5),
    (1.5, 1.0, 0.3),
    (2.0, 0.5, 0.1),
    (16.0, 0.15, 0.05),
)
_TWO_HALVES_ALIKE = 1.5
_SECOND_COLOUR = 0.5
_UNIFORM = 0.8
_EARLY_REST = 0.3  # not at the end of its measure
_SECOND_REST = 0.3
_REST_BEFORE_THE_LAST = 0.03  # re, a rest, do: the cadence falls apart
_REST_INTO_THE_LAST = 0.15


def measure_weight(pattern: Pattern, role: Role, metre: Metre) -> int:
    """How usual a measure of rhythm is in its role, at least 1."""
    a_beat, measure = pattern.notes / metre.pulses, ticks(metre.measure)
    within, ending = next(row[1:] for row in _DENSITY if a_beat <= row[0])
    ends = role in (Role.HALF, Role.CLOSE)
    weight = ending if ends else within
    for cell in pattern.cells:
        weight *= cell.weight
    colours = {cell.step for cell in pattern.cells if not cell.plain}
    weight *= _SECOND_COLOUR ** max(len(colours) - 1, 0)
    if pattern.uniform:
        weight *= _UNIFORM
    elif _halves_alike(pattern):
        weight *= _TWO_HALVES_ALIKE
    rests = [each for each in pattern.struck if each.rest]
    weight *= _SECOND_REST ** max(len(rests) - 1, 0)
    for each in rests:
        if each.offset + each.ticks != measure:
            weight *= _REST_BEFORE_THE_LAST if ends else _EARLY_REST
        elif role is Role.LEAD:
            weight *= _REST_INTO_THE_LAST
    return max(round(weight * _SCALE), 1)


def _halves_alike(pattern: Pattern) -> bool:
    texts = [cell.text for cell in pattern.cells]
    half = len(texts) // 2
    return len(texts) % 2 == 0 and half > 1 and texts[:half] == texts[half:]


def colour_share(others: int) -> float:
    """How often a line has so many colours beside the newest."""
    return (0.35, 0.4, 0.25)[min(others, 2)]
