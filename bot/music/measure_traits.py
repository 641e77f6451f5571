"""Traits of one measure of rhythm, by name: what the fitted weights of rhythm are weights of.

The weights come from tunes in simple metres. A measure of 6/8 is looked at as the one of 2/4 that
has the same beats, whole and divided; a measure of cut time as the 4/4 that its notes would fill.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from functools import lru_cache
from itertools import pairwise

from bot.music.cell import Cell
from bot.music.patterns import TICKS, Pattern, Role, ticks
from bot.music.rhythm import Metre

_FIRST, _MIDDLE = 3, 2  # metric strengths
_SIMPLE = {"q.": "q", "h.": "h", "q e": "e e", "e e e": "e e"}  # cells of 6/8 as those of 2/4
_DENSITIES = tuple(Fraction(each, 4) for each in (1, 2, 3, 4, 6))  # notes a beat, at most


def measure_traits(pattern: Pattern, role: Role, metre: Metre) -> Iterator[str]:
    """Name every trait that a measure has in its role; a name may come more than once."""
    yield from plain_traits(pattern, metre)
    yield from role_traits(pattern, role, metre)


def plain_traits(pattern: Pattern, metre: Metre) -> Iterator[str]:
    """Name the traits that a measure has in every role."""
    yield from placed_cells(pattern, metre)
    for before, after in pairwise(pattern.cells):
        yield f"{_text(before, metre)} then {_text(after, metre)}"
    if not pattern.uniform and _halves_alike(pattern):
        yield "two halves alike"


def role_traits(pattern: Pattern, role: Role, metre: Metre) -> Iterator[str]:
    """Name the traits that a measure has in this role."""
    metre = read_as(metre)
    # A half note is a rest of the mind in four beats and the whole measure in two.
    scope = f"{role} of two" if metre.pulses == 2 else str(role)
    yield f"{scope}: {_density(pattern.notes, metre.pulses)}"
    yield from (f"{scope}: {trait}" for trait in _ending(pattern, metre))
    if pattern.uniform:
        yield f"{scope}: one cell over and over"


def read_as(metre: Metre) -> Metre:
    """The metre whose habits a metre has: 4/4 for cut time."""
    return Metre() if metre.cut else metre


def placed_cells(pattern: Pattern, metre: Metre) -> Iterator[str]:
    """Name each cell with the kind of beat that it begins on."""
    seen = -1
    for each in pattern.struck:
        if each.cell != seen:
            seen = each.cell
            yield f"{_text(pattern.cells[seen], metre)} on {_place(each.offset, metre)}"


def _text(cell: Cell, metre: Metre) -> str:
    return _SIMPLE.get(cell.text, cell.text) if metre.compound else cell.text


@lru_cache(maxsize=4096)  # asked for every cell of every measure that could be
def _place(offset: int, metre: Metre) -> str:
    strength = read_as(metre).strength(Fraction(offset, TICKS))
    return {_FIRST: "the first beat", _MIDDLE: "the middle beat"}.get(strength, "another beat")


@lru_cache(maxsize=4096)
def _density(notes: int, beats: int) -> str:
    most = next((most for most in _DENSITIES if notes <= most * beats), None)
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
