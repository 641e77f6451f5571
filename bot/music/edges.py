"""Every way in which several parts can go on together, as rows of whole arrays.

An edge is one way on for each part at once. Its factor says how welcome the voices' motion and the
sound that they reach are; edges that break a rule of voice-leading are not there at all.
"""

from __future__ import annotations

from collections.abc import Sequence
from enum import IntEnum
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from bot.music import voice_leading as rules
from bot.music.side import Places, Side, Ways
from bot.music.slices import Slice, Stroke
from bot.music.voice_leading import Floats, Manner, Mask

Compact = NDArray[np.int32]  # half the size: there are millions of edges
_CHUNK = 4_000_000  # cells looked at in one go
_DEGREES = 7
_TI = 6


class Singer(NamedTuple):
    """A voice that sounds: the side whose line it sings, and the height of each of its tones."""

    side: int
    heights: tuple[int, ...]


class Chain(IntEnum):
    """What a move makes of a chain of parallel thirds or sixths."""

    BROKEN = 0
    LONGER = 1
    KEPT = 2  # nobody moved


class Kind(NamedTuple):
    """What edges of one slice have in common."""

    strokes: tuple[Stroke, ...]
    before: tuple[bool, ...]  # which parts sounded in the slice before
    now: tuple[bool, ...]
    strong: bool
    free: bool  # perfect intervals are welcome: where voices begin, end, or one of them waits


class Edges(NamedTuple):
    """Edges sorted by where they come from; `ways` has one row of ways on for each part.

    `pattern` has a bit for each part that arrives at its newest element, and above them what
    becomes of a chain of parallel thirds or sixths.
    """

    src: Compact
    dst: Compact
    ways: tuple[Compact, ...]
    factor: Floats
    pattern: Compact


def kind_of(slice_: Slice, before: Slice | None) -> Kind:
    """The kind of edges that lead into a slice."""
    waits = not all(slice_.sounding)
    return Kind(
        strokes=slice_.strokes,
        before=before.sounding if before else (False,) * len(slice_.strokes),
        now=slice_.sounding,
        strong=slice_.strong or slice_.closes or slice_.opens,
        free=slice_.opens or slice_.closes or waits,
    )


def edges_of(
    kind: Kind, sides: Sequence[Side], castings: Sequence[Sequence[Singer]], manner: Manner
) -> Edges:
    """All edges of a kind. With several castings the same tones go with each of them."""
    ways = [side.ways(stroke) for side, stroke in zip(sides, kind.strokes, strict=True)]
    table, chain = _Table(kind, sides, castings[0], manner).lay_out()
    for casting in castings[1:]:
        table = table * _Table(kind, sides, casting, manner).lay_out()[0]
    chosen, cells = _combine(table, ways, [len(side.tones) for side in sides])
    factor = table.ravel()[cells]
    src = dst = pattern = np.zeros(len(cells), dtype=np.int64)
    for number, (side, way, row) in enumerate(zip(sides, ways, chosen, strict=True)):
        src = src * side.contexts + way.src[row]
        dst = dst * side.contexts + way.to[row]
        pattern = pattern + (way.hit[row] << number)
    pattern = pattern + (chain.ravel()[cells] << len(sides))
    order = np.argsort(src, kind="stable")
    rows = [row[order].astype(np.int32) for row in (src, dst, pattern, *chosen)]
    return Edges(rows[0], rows[1], tuple(rows[3:]), factor[order], rows[2])


class _Table:
    """Factors over [move of the first part, of the second, ...]; a move is last * tones + tone."""

    def __init__(
        self, kind: Kind, sides: Sequence[Side], singers: Sequence[Singer], manner: Manner
    ) -> None:
        self._kind, self._sides, self._manner = kind, sides, manner
        self._sizes = [len(side.tones) for side in sides]
        self._before, self._after = [], []
        for singer in singers:
            heights = np.array(singer.heights)
            size = len(heights)
            self._before.append(self._on_axis(np.repeat(heights, size), singer.side))
            self._after.append(self._on_axis(np.tile(heights, size), singer.side))
        self._numbers = [singer.side for singer in singers]

    def _on_axis(self, row: NDArray[np.int64], axis: int) -> NDArray[np.int64]:
        shape = [1] * len(self._sizes)
        shape[axis] = len(row)
        return row.reshape(shape)

    def _heard(self, sounding: Sequence[bool]) -> list[int]:
        return [place for place, side in enumerate(self._numbers) if sounding[side]]

    def lay_out(self) -> tuple[Floats, Places]:
        """The factors, and what becomes of a chain of parallel thirds or sixths."""
        kind, manner = self._kind, self._manner
        shape = tuple(size * size for size in self._sizes)
        now = self._heard(kind.now)
        after, sides = [self._after[p] for p in now], [self._numbers[p] for p in now]
        good = rules.consonant(after, sides, manner)
        if manner.full and kind.strong:
            good = good & self._full(after, sides, closes=kind.free)
        weight = np.where(good, 1.0 if kind.free else rules.welcome(after, sides), 0.0)
        weight = weight * rules.kept_apart(after, sides, manner)
        chain: Places = np.array(Chain.BROKEN)
        both = self._heard([a and b for a, b in zip(kind.before, kind.now, strict=True)])
        if both and Stroke.BEGIN not in kind.strokes:
            was, then = [self._before[p] for p in both], [self._after[p] for p in both]
            held = [self._numbers[p] for p in both]
            weight = self._moved(weight, good, was, then, held)
            chain = np.where(rules.chained(was, then, held), Chain.LONGER, Chain.BROKEN)
            chain = np.where(rules.still(was, then), Chain.KEPT, chain)
        return np.ascontiguousarray(np.broadcast_to(weight, shape)), np.broadcast_to(chain, shape)

    def _moved(
        self, weight: Floats, good: Mask, was: rules.Heights, then: rules.Heights, held: list[int]
    ) -> Floats:
        kind, manner = self._kind, self._manner
        seam = Stroke.SEAM in kind.strokes
        if not kind.strong and not seam and len(set(held)) > 1:
            may_pass = rules.passing(was, then, held) & rules.ordered(then, held, manner)
            weight = np.where(~good & may_pass, rules.passing_weight(), weight)
        left = rules.consonant(was, held, manner)
        weight = np.where(left | rules.stepwise(was, then, held), weight, 0.0)
        return weight * rules.motion(was, then, held, manner)

    def _full(self, after: rules.Heights, sides: Sequence[int], *, closes: bool) -> Mask:
        """Whether root and third of one triad are there, its fifth beside them, and one ti.

        Where voices close a bare unison or octave of all will do too.
        """
        if len(set(sides)) < 3:
            return np.array(True)
        degrees = []
        for number in dict.fromkeys(sides):
            steps = np.array([tone.step % _DEGREES for tone in self._sides[number].tones])
            degrees.append(self._on_axis(np.tile(steps, len(steps)), number))
        found: Mask = np.array(False)
        for root in range(_TI):
            triad = [root, (root + 2) % _DEGREES, (root + 4) % _DEGREES]
            inside: Mask = np.array(True)
            for row in degrees:
                inside = inside & np.isin(row, triad)
            for needed in triad[:2]:
                some: Mask = np.array(False)
                for row in degrees:
                    some = some | (row == needed)
                inside = inside & some
            found = found | inside
        leading = sum(((row == _TI).astype(np.int64) for row in degrees), np.array(0))
        found = found & (leading <= 1)
        if closes:
            alike: Mask = np.array(True)
            for row in degrees[1:]:
                alike = alike & (row == degrees[0]) & (row != _TI)
            found = found | alike
        return found


def _combine(
    table: Floats, ways: Sequence[Ways], tones: Sequence[int]
) -> tuple[tuple[Places, ...], Places]:
    """Rows of ways on, one for each part, that the table allows, and the cell of each."""
    moves = [way.last * size + way.tone for way, size in zip(ways, tones, strict=True)]
    chosen: list[Places] = [np.arange(len(moves[0]))]
    cells = moves[0]
    for number in range(1, len(ways)):
        shape = table.shape[: number + 1]
        allowed = table.reshape(*shape, -1).max(axis=-1).reshape(-1, shape[-1]) > 0.0
        rows, columns = _allowed(allowed, cells, moves[number])
        chosen = [each[rows] for each in chosen]
        chosen.append(columns)
        cells = cells[rows] * shape[-1] + moves[number][columns]
    return tuple(chosen), cells


def _allowed(allowed: Mask, cells: Places, moves: Places) -> tuple[Places, Places]:
    step = max(_CHUNK // max(len(moves), 1), 1)
    rows, columns = [], []
    for start in range(0, len(cells), step):
        row, column = np.nonzero(allowed[cells[start : start + step]][:, moves])
        rows.append(row + start)
        columns.append(column)
    none = np.zeros(0, dtype=np.int64)
    return np.concatenate([none, *rows]), np.concatenate([none, *columns])
