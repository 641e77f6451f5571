"""Rhythm cells: the small groups of notes and rests that are learnt and read as one."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise

from bot.music.rhythm import Metre

HELD = "~"  # among texts of cells: a note that is held over the bar line

_VALUE = re.compile(r"(r?)([whqes])(\.?)(~?)")
_LENGTHS = {
    "w": Fraction(1),
    "h": Fraction(1, 2),
    "q": Fraction(1, 4),
    "e": Fraction(1, 8),
    "s": Fraction(1, 16),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class CellNote:
    """A note or a rest of a cell; `duration` in whole notes; `tied` to the cell's next note."""

    duration: Fraction
    rest: bool = False
    tied: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """A group such as `q. e`. `beats` says where in a measure of each metre it may begin.

    Beats are counted from 1, halves of beats among them. `weight` is how usual it is beside others,
    `in_a_row` how often it may follow itself within a measure, `step` the rhythm step that brings
    it. A plain cell is in play in every line; of the others (the colours) a line has only a few
    kinds.
    """

    text: str
    notes: tuple[CellNote, ...]
    beats: tuple[tuple[Metre, tuple[Fraction, ...]], ...]
    weight: float = 1.0
    in_a_row: int = 4
    step: str = ""
    plain: bool = False

    @property
    def duration(self) -> Fraction:
        """Length in whole notes."""
        return sum((note.duration for note in self.notes), Fraction(0))

    def offsets(self, metre: Metre) -> tuple[Fraction, ...]:
        """Places in a measure, in whole notes, where the cell may begin."""
        for each, beats in self.beats:
            if each == metre:
                return tuple((beat - 1) * metre.pulse for beat in beats)
        return ()


def ties_of(notes: Sequence[CellNote]) -> set[tuple[Fraction, Fraction]]:
    """The lengths of the notes that ties of a cell bind."""
    return {(one.duration, other.duration) for one, other in pairwise(notes) if one.tied}


def silent(cell: Cell) -> Cell:
    """The rest that is as long as a cell."""
    rest = CellNote(duration=cell.duration, rest=True)
    return replace(cell, text=f"r{cell.text}", notes=(rest,))


def cell_notes(text: str) -> tuple[CellNote, ...]:
    """Read `q. e`, `e re` or `h~ e e`: letters w h q e s, a dot, ~ for a tie, r before a rest.

    ValueError otherwise.

    >>> [str(note.duration) for note in cell_notes("q. e")]
    ['3/8', '1/8']
    """
    notes = []
    for word in text.split():
        match = _VALUE.fullmatch(word)
        if match is None:
            raise ValueError(f"{word!r} is no note value: one of w h q e s, with . or r before it")
        if match[4] and match[1]:
            raise ValueError(f"{word!r} ties a rest: only notes are tied")
        length = _LENGTHS[match[2]] * (Fraction(3, 2) if match[3] else 1)
        notes.append(CellNote(duration=length, rest=bool(match[1]), tied=bool(match[4])))
    if not notes:
        raise ValueError("a cell has at least one note or rest")
    for one, other in zip(notes, [*notes[1:], None], strict=True):
        if one.tied and (other is None or other.rest):
            raise ValueError(f"{text!r} ties its last note: a tie binds two notes of a cell")
    return tuple(notes)
