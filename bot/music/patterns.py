"""Measures of rhythm: every way to fill a measure with the cells in play, by where it may stand."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from fractions import Fraction
from typing import NamedTuple

from bot.music.cell import HELD, Cell
from bot.music.rhythm import Metre

PHRASE = 4  # measures
TICKS = 96  # of a whole note: sixteenths, their triplets and dotted ones come out even
_HALF, _EIGHTH = TICKS // 2, TICKS // 8


class Role(StrEnum):
    """What a measure does in its line."""

    OPEN = "open"  # the first of a phrase
    FLOW = "flow"
    LEAD = "lead"  # leads into the last of its phrase
    HALF = "half"  # ends the first half of eight measures
    CLOSE = "close"  # ends the line


_BEFORE_THE_END = (Role.OPEN, Role.FLOW, Role.LEAD)


class Struck(NamedTuple):
    """A note or rest in a measure, in ticks; `cell` counts the cells of the measure from 0.

    `strength` is the metric weight of its place; `length` 0 shorter than a beat, 1 a beat, 2 more;
    `degrees` which degrees of the scale may stand there, a bit for each, 0 for any; `tied` the
    ticks of the notes that write it, where a tie is needed.
    """

    offset: int
    ticks: int
    rest: bool
    cell: int
    strength: int
    length: int
    degrees: int = 0
    tied: tuple[int, ...] = ()


Name = tuple[tuple[str, ...], bool, bool]  # texts of cells; held from before; held over


@dataclass(frozen=True, slots=True, kw_only=True)
class Pattern:
    """One measure of rhythm: `notes` counts its notes, `uniform` is one cell over and over.

    `held` has the ticks of a note that goes on from the measure before, 0 for none; it is not among
    those that are struck. `over` says that the last note goes on in the next measure.
    """

    cells: tuple[Cell, ...]
    struck: tuple[Struck, ...]
    notes: int
    uniform: bool
    held: int = 0
    over: bool = False

    @property
    def name(self) -> Name:
        """What tells it from other measures: its cells, and at which end a note is held."""
        return tuple([cell.text for cell in self.cells]), bool(self.held), self.over

    @property
    def rhythm(self) -> tuple[tuple[int, bool], ...]:
        """The length of each note or rest in ticks, and whether it is a rest."""
        return tuple((each.ticks, each.rest) for each in self.struck)

    def fresh(self, texts: Collection[str]) -> tuple[bool, ...]:
        """For each note, whether it is of one of these cells; or, with HELD, is held over."""
        found = [self.cells[each.cell].text in texts for each in self.struck if not each.rest]
        if self.over and HELD in texts:
            found[-1] = True
        return tuple(found)

    @property
    def quick(self) -> tuple[bool, ...]:
        """For each note, whether it is shorter than an eighth."""
        short = [each.ticks < _EIGHTH for each in self.struck if not each.rest]
        return (*short[:-1], short[-1] and not self.over) if short else ()


def ticks(duration: Fraction) -> int:
    """A length in whole notes as ticks."""
    return duration.numerator * TICKS // duration.denominator


def role_of(measure: int, measures: int) -> Role:
    """The role of a measure, both counted from 0 and in full lines of 4 or 8."""
    if measure == measures - 1:
        return Role.CLOSE
    if measure % PHRASE == PHRASE - 1:
        return Role.HALF
    return _BEFORE_THE_END[measure % PHRASE]


def pickup_of(measures: Sequence[Pattern]) -> Fraction:
    """The length of the pickup that measures begin with, in whole notes."""
    return Fraction(max(-measures[0].struck[0].offset, 0), TICKS)


class Filling:
    """Every way to fill a measure: cells where they may begin, no two rests side by side.

    `without` is what a measure leaves for a pickup at its end, in whole notes.
    """

    def __init__(
        self, cells: tuple[Cell, ...], metre: Metre, without: Fraction = Fraction(0)
    ) -> None:
        self._metre = metre
        self._measure, self._pulse = ticks(metre.measure - without), ticks(metre.pulse)
        self._cells = [
            (cell, ticks(cell.duration), {ticks(offset) for offset in cell.offsets(metre)})
            for cell in cells
        ]
        self._notes = {cell.text: _tied_together(cell) for cell in cells}
        self._strengths: dict[int, int] = {}

    def patterns(self) -> tuple[Pattern, ...]:
        """All measures, in the order of the cells."""
        return tuple([self._pattern(filled) for filled in self._fill((), 0)])

    def _fill(self, filled: tuple[Cell, ...], offset: int) -> Iterator[tuple[Cell, ...]]:
        if offset == self._measure:
            yield filled
            return
        for cell, length, offsets in self._cells:
            if offset in offsets and offset + length <= self._measure and _follows(filled, cell):
                yield from self._fill((*filled, cell), offset + length)

    def _pattern(self, cells: tuple[Cell, ...]) -> Pattern:
        struck, offset = [], 0
        for number, cell in enumerate(cells):
            for pieces, rest in self._notes[cell.text]:
                length, tied = sum(pieces), pieces if len(pieces) > 1 else ()
                size = (length >= self._pulse) + (length > self._pulse)
                strength = self._strength(offset)
                struck.append(Struck(offset, length, rest, number, strength, size, tied=tied))
                offset += length
        return Pattern(
            cells=cells,
            struck=tuple(struck),
            notes=sum(1 for each in struck if not each.rest),
            uniform=len(cells) > 1 and len({cell.text for cell in cells}) == 1,
        )

    def _strength(self, offset: int) -> int:
        if offset not in self._strengths:
            self._strengths[offset] = self._metre.strength(Fraction(offset, TICKS))
        return self._strengths[offset]


def _tied_together(cell: Cell) -> list[tuple[tuple[int, ...], bool]]:
    """The notes of a cell as ticks, tied ones together, and whether each is a rest."""
    found: list[tuple[tuple[int, ...], bool]] = []
    held = False
    for note in cell.notes:
        if held:
            found[-1] = ((*found[-1][0], ticks(note.duration)), False)
        else:
            found.append(((ticks(note.duration),), note.rest))
        held = note.tied
    return found


def _follows(filled: tuple[Cell, ...], cell: Cell) -> bool:
    if filled and filled[-1].notes[-1].rest and cell.notes[0].rest:
        return False
    row = 0
    for each in reversed(filled):
        if each is not cell:
            break
        row += 1
    return row < cell.in_a_row


def with_pickup(pattern: Pattern, pickup: Cell, metre: Metre) -> Pattern:
    """A measure with a note, or a rest, before it."""
    length = ticks(pickup.duration)
    size = (length >= ticks(metre.pulse)) + (length > ticks(metre.pulse))
    strength = metre.strength(metre.measure - pickup.duration)
    rest = pickup.notes[0].rest
    first = Struck(-length, length, rest=rest, cell=0, strength=strength, length=size)
    return replace(
        pattern,
        cells=(pickup, *pattern.cells),
        struck=(first, *(each._replace(cell=each.cell + 1) for each in pattern.struck)),
        notes=pattern.notes + (not rest),
    )


def may_stand(
    pattern: Pattern, measure: int, measures: int, metre: Metre, *, free: bool = False
) -> bool:
    """Whether a measure of rhythm may stand at a place of a line.

    A phrase starts with a note. One short cell over and over stands in the odd measures only, or at
    the end of a phrase, so that runs of it stay short; where a measure has but two beats, two cells
    shorter than a half may fill any. A silent measure is the
    second of its phrase and leaves time for more: eight measures. A phrase ends with a note of a
    half at least (the last of all on a strong beat), after which only rests come. `free` leaves out
    what keeps runs short and phrase ends long.
    """
    role = role_of(measure, measures)
    if role is Role.OPEN and pattern.struck[0].rest:
        return False
    if not pattern.notes:
        return measure % PHRASE == 1 and measures > PHRASE
    if free:
        return True
    if role not in (Role.HALF, Role.CLOSE):
        if not pattern.uniform or measure % 2 == 0:
            return True
        two = metre.pulses == len(pattern.cells) == 2
        return two and ticks(pattern.cells[0].duration) < _HALF
    last = next(each for each in reversed(pattern.struck) if not each.rest)
    return last.ticks >= _HALF and (role is Role.HALF or last.strength >= 2)
