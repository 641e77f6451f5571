"""Taking the rhythm of a measure apart into known cells, as early in the sequence as can be."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import NamedTuple

from bot.music.cell import Cell
from bot.music.exercise import Note
from bot.music.rhythm import Metre

_BASES = (
    (Fraction(1), "w"),
    (Fraction(1, 2), "h"),
    (Fraction(1, 4), "q"),
    (Fraction(1, 8), "e"),
    (Fraction(1, 16), "s"),
)


class Tile(NamedTuple):
    """A group of notes: the first's number, its text, the number of its step, None for unknown."""

    first: int
    text: str
    step: int | None


class _Best(NamedTuple):
    """The best way to the end from a note: unknown notes, highest step, the tiles."""

    unknown: int
    highest: int
    tiles: tuple[Tile, ...]


def tile(
    notes: Sequence[Note], start: Fraction, metre: Metre, cells: Sequence[tuple[Cell, int]]
) -> tuple[Tile, ...]:
    """Cover the notes of one measure with cells, each with the number of its step.

    `start` is where in the measure the first note lies. The cover leaves as few notes unknown as
    can be, then needs no higher step than it must. What no cell covers runs from beat to beat.
    """
    offsets = [start]
    for note in notes:
        offsets.append(offsets[-1] + note.duration)
    best: list[_Best] = [_Best(0, -1, ())]
    for first in range(len(notes) - 1, -1, -1):
        ways = [
            *_known(notes, first, offsets, metre, cells, best),
            *_unknown(notes, first, offsets, metre, best),
        ]
        best.insert(0, min(ways, key=lambda way: (way.unknown, way.highest, len(way.tiles))))
    return best[0].tiles


def _known(
    notes: Sequence[Note],
    first: int,
    offsets: Sequence[Fraction],
    metre: Metre,
    cells: Sequence[tuple[Cell, int]],
    best: Sequence[_Best],
) -> list[_Best]:
    """Covers that begin with a cell; `best` holds those from the next note on."""
    ways = []
    for cell, step in cells:
        size = len(cell.notes)
        here = [(note.duration, note.tone is None) for note in notes[first : first + size]]
        if (
            here == [(note.duration, note.rest) for note in cell.notes]
            and all(
                one.tied or not other.tied
                for one, other in zip(notes[first:], cell.notes, strict=False)
            )
            and _may_stand(cell, offsets[first], metre)
        ):
            after = best[size - 1]
            tiles = (Tile(first, cell.text, step), *after.tiles)
            ways.append(_Best(after.unknown, max(step, after.highest), tiles))
    return ways


def _may_stand(cell: Cell, offset: Fraction, metre: Metre) -> bool:
    """Whether a reader who knows the cell knows it there.

    Where it begins in composed lines is narrower: a beat is a beat, and rests are read by length.
    """
    if offset in cell.offsets(metre):
        return True
    rests = all(note.rest for note in cell.notes)
    return offset % metre.pulse == 0 and (
        cell.duration <= metre.pulse or (rests and metre.strength(offset) >= 2)
    )


def _unknown(
    notes: Sequence[Note],
    first: int,
    offsets: Sequence[Fraction],
    metre: Metre,
    best: Sequence[_Best],
) -> list[_Best]:
    """Covers that leave the first notes unknown, up to a beat or the end."""
    ways = []
    for size in range(1, len(notes) - first + 1):
        ends = first + size == len(notes)
        if ends or offsets[first + size] % metre.pulse == 0:
            after = best[size - 1]
            text = " ".join(value_text(note) for note in notes[first : first + size])
            tiles = (Tile(first, text, None), *after.tiles)
            ways.append(_Best(after.unknown + size, after.highest, tiles))
    return ways


def value_text(note: Note) -> str:
    """A note's value in the letters of a sequence file, or as a fraction where it has none."""
    rest = "r" if note.tone is None else ""
    for base, letter in _BASES:
        if note.duration == base:
            return rest + letter
        if note.duration == base * Fraction(3, 2):
            return f"{rest}{letter}."
    return rest + str(note.duration)
