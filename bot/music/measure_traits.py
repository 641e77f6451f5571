"""Traits of one measure of rhythm, by name: what the fitted weights of rhythm are weights of."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from itertools import pairwise

from bot.music.patterns import Pattern, Role, ticks
from bot.music.rhythm import Metre

_FIRST, _MIDDLE = 3, 2  # metric strengths
_DENSITIES = (Fraction(1, 2), Fraction(3, 4), Fraction(1), Fraction(3, 2))  # notes a beat, at most


def measure_traits(pattern: Pattern, role: Role, metre: Metre) -> Iterator[str]:
    """Name every trait that a measure has in its role; a name may come more than once."""
    yield from placed_cells(pattern)
    for before, after in pairwise(pattern.cells):
        yield f"{before.text} then {after.text}"
    # A half note is a rest of the mind in four beats and the whole measure in two.
    scope = f"{role} of two" if metre.pulses == 2 else str(role)
    yield f"{scope}: {_density(Fraction(pattern.notes, metre.pulses))}"
    yield from (f"{scope}: {trait}" for trait in _ending(pattern, metre))
    if pattern.uniform:
        yield f"{scope}: one cell over and over"
    elif _halves_alike(pattern):
        yield "two halves alike"


def placed_cells(pattern: Pattern) -> Iterator[str]:
    """Name each cell with the kind of beat that it begins on."""
    seen = -1
    for each in pattern.struck:
        if each.cell != seen:
            seen = each.cell
            yield f"{pattern.cells[seen].text} on {_place(each.strength)}"


def _place(strength: int) -> str:
    return {_FIRST: "the first beat", _MIDDLE: "the middle beat"}.get(strength, "another beat")


def _density(notes_a_beat: Fraction) -> str:
    most = next((most for most in _DENSITIES if notes_a_beat <= most), None)
    return f"at most {most} notes a beat" if most else "more notes a beat"


def _ending(pattern: Pattern, metre: Metre) -> Iterator[str]:
    """How the measure ends: the length of its last note in beats, and of the rest behind it."""
    notes = [each for each in pattern.struck if not each.rest]
    if not notes:
        return
    last, beat = notes[-1], ticks(metre.pulse)
    yield "ends short" if last.ticks < beat else f"ends with {last.ticks // beat} beats"
    behind = ticks(metre.measure) - last.offset - last.ticks
    if behind:
        yield f"{behind // beat} beats of rest behind"


def _halves_alike(pattern: Pattern) -> bool:
    texts = [cell.text for cell in pattern.cells]
    half = len(texts) // 2
    return len(texts) % 2 == 0 and half > 1 and texts[:half] == texts[half:]
