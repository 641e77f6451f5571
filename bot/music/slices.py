"""Several rhythms laid side by side: a slice wherever a part begins a note or a rest."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from enum import IntEnum
from fractions import Fraction
from typing import NamedTuple

from bot.music.habits import Place
from bot.music.patterns import TICKS, Pattern, pickup_of, ticks
from bot.music.rhythm import Metre
from bot.music.skeleton import Skeleton, skeleton_of

_LONGER_THAN_A_BEAT = 2  # as places count lengths


class Stroke(IntEnum):
    """What a part does in a slice."""

    BEGIN = 0  # its first note of all
    STRIKE = 1
    SEAM = 2  # the first note of a later phrase
    HOLD = 3
    REST = 4


class Struck(NamedTuple):
    """What the weights of a part have to know of its note in a slice."""

    place: Place
    new: bool
    half: bool  # ends a phrase that is not the last
    last: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Slice:
    """One moment: what each part does, and its note where it begins one.

    `strong` moments are consonant: strong beats, and where a long note begins. `opens` begins a
    line or a phrase, `closes` ends one.
    """

    strokes: tuple[Stroke, ...]
    struck: tuple[Struck | None, ...]
    strong: bool
    opens: bool
    closes: bool

    @property
    def sounding(self) -> tuple[bool, ...]:
        """Which parts sound."""
        return tuple(stroke is not Stroke.REST for stroke in self.strokes)


def slices_of(
    metre: Metre,
    parts: Sequence[Sequence[Pattern]],
    new_cells: Sequence[frozenset[str]],
    lie: int = 0,
) -> tuple[Slice, ...]:
    """Lay parts of equal length side by side; `new_cells` and `lie` as for a skeleton."""
    rows = [
        _events(metre, measures, skeleton_of(measures, new_cells=new, lie=lie))
        for measures, new in zip(parts, new_cells, strict=True)
    ]
    return _side_by_side(metre, rows, ticks(pickup_of(parts[0])))


def folded(
    metre: Metre, measures: Sequence[Pattern], new: frozenset[str], lie: int = 0
) -> tuple[Slice, ...]:
    """The second half of a line over its first half: part 0 is the second, going on from the first.

    The last note of each half is a strong moment.
    """
    row = _events(metre, measures, skeleton_of(measures, new_cells=new, lie=lie))
    middle = len(measures) // 2 * ticks(metre.measure)
    first = {offset: each for offset, each in row.items() if offset < middle}
    second = {offset - middle: each for offset, each in row.items() if offset >= middle}
    last = max(offset for offset, (_, struck) in first.items() if struck)
    slices = _side_by_side(metre, [second, first], ticks(pickup_of(measures)))
    return tuple(
        replace(each, closes=True) if offset == last else each
        for offset, each in zip(sorted({*first, *second}), slices, strict=True)
    )


def _side_by_side(
    metre: Metre, rows: Sequence[Mapping[int, tuple[Stroke, Struck | None]]], pickup: int = 0
) -> tuple[Slice, ...]:
    offsets = sorted({offset for row in rows for offset in row})
    now: list[Stroke] = [Stroke.REST] * len(rows)
    found = []
    for offset in offsets:
        struck: list[Struck | None] = []
        for number, row in enumerate(rows):
            stroke, note = row.get(offset, (_onward(now[number]), None))
            now[number] = stroke
            struck.append(note)
        notes = [note for note in struck if note]
        found.append(
            Slice(
                strokes=tuple(now),
                struck=tuple(struck),
                strong=metre.strength(Fraction(offset - pickup, TICKS)) >= 2
                or any(note.place.length == _LONGER_THAN_A_BEAT for note in notes),
                opens=bool(set(now) & {Stroke.BEGIN, Stroke.SEAM}),
                closes=any(note.half or note.last for note in notes),
            )
        )
    return tuple(found)


def _onward(stroke: Stroke) -> Stroke:
    return Stroke.REST if stroke is Stroke.REST else Stroke.HOLD


def _events(
    metre: Metre, measures: Sequence[Pattern], skeleton: Skeleton
) -> dict[int, tuple[Stroke, Struck | None]]:
    """Offset in ticks from the beginning -> what begins there."""
    found: dict[int, tuple[Stroke, Struck | None]] = {}
    pickup = ticks(pickup_of(measures))
    note = 0
    for number, measure in enumerate(measures):
        start = pickup + number * ticks(metre.measure)
        for each in measure.struck:
            if each.rest:
                found[start + each.offset] = (Stroke.REST, None)
                continue
            stroke = Stroke.SEAM if note in skeleton.phrase_ends else Stroke.STRIKE
            last = note == skeleton.notes - 1
            half = note + 1 in skeleton.phrase_ends and not last
            struck = Struck(skeleton.places[note], skeleton.new[note], half, last)
            found[start + each.offset] = (Stroke.BEGIN if note == 0 else stroke, struck)
            note += 1
    return found
