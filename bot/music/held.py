"""Notes held over a bar line: where a form has room for them, and how measures go with them.

The last note of a measure is tied to the first of the next. Both are cells of one note that the
level names. A phrase's end is never held over, no measure is held at both its ends, and each begins
a note of its own. Measures of one letter share their ties as they share their rhythm, so the bar
lines that letters bind together are held over all or none.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import NamedTuple

from bot.music.level import Level
from bot.music.patterns import PHRASE, Pattern
from bot.music.rhythm import Metre

_LONG = 2  # as places count lengths: whoever holds a note over a bar line hears it as a long one
_End = tuple[str, bool]  # an end of the measures of a letter; whether it is the later one


class BarLines(NamedTuple):
    """The bar lines before and after the measures of a letter, a bit each; 0 where none is held."""

    before: int = 0
    after: int = 0


def bar_lines(letters: str, phrase: int = PHRASE) -> dict[str, BarLines]:
    """The bar lines of a form over which notes may be held, by letter.

    >>> bar_lines("abac")["a"], bar_lines("abac")["b"]
    (BarLines(before=0, after=1), BarLines(before=1, after=0))
    """
    bound: dict[_End, set[_End]] = {}
    for letter in letters:
        for late in (False, True):
            bound.setdefault((letter, late), {(letter, late)})
    for one, other in pairwise(letters):
        together = bound[one, True] | bound[other, False]
        for end in together:
            bound[end] = together
    closed = {(letters[0], False), (letters[-1], True)}
    closed |= {(each, False) for each in letters[::phrase]}
    closed |= {(each, True) for each in letters[phrase - 1 :: phrase]}
    bits: dict[frozenset[_End], int] = {}
    found: dict[_End, int] = {}
    for end, together in bound.items():
        both = any((letter, not late) in together for letter, late in together)
        if not both and together.isdisjoint(closed):
            found[end] = bits.setdefault(frozenset(together), 1 << len(bits))
    return {
        letter: BarLines(found.get((letter, False), 0), found.get((letter, True), 0))
        for letter in dict.fromkeys(letters)
    }


def held_texts(level: Level, metre: Metre) -> frozenset[str]:
    """The cells of the level that are held over bar lines in a metre; none where none fits."""
    ends = [
        cell.text for cell in level.held if metre.measure - cell.duration in cell.offsets(metre)
    ]
    begins = [
        cell.text
        for cell in level.held
        if cell.duration < metre.measure and 0 in cell.offsets(metre)
    ]
    return frozenset((*ends, *begins)) if ends and begins else frozenset()


def held_ways(
    pattern: Pattern, lines: BarLines, texts: Collection[str], *, mirrored: bool = False
) -> Iterator[tuple[Pattern, int]]:
    """A measure as it goes on with a held note, and as it leads into one, each with its bar line.

    `mirrored`: the same from its last note to its first, so that it has a note of its own too.
    """
    if not pattern.notes:
        return
    first, last = pattern.struck[0], pattern.struck[-1]
    if lines.before and pattern.notes > 1 and pattern.cells[0].text in texts:
        left = replace(pattern, struck=pattern.struck[1:], notes=pattern.notes - 1)
        yield replace(left, held=first.ticks), lines.before
    alone = pattern.notes < 2 and mirrored
    if lines.after and not alone and pattern.cells[last.cell].text in texts:
        yield replace(pattern, over=True), lines.after


def joined(measures: Sequence[Pattern]) -> tuple[Pattern, ...]:
    """Measures side by side, each note that is held over in its whole length."""
    found = list(measures)
    for number, (measure, after) in enumerate(pairwise(measures)):
        if measure.over:
            *before, last = measure.struck
            pieces = (*(last.tied or (last.ticks,)), after.held)
            whole = last._replace(ticks=sum(pieces), length=_LONG, tied=pieces)
            found[number] = replace(measure, struck=(*before, whole))
    return tuple(found)
