"""Whether parts that are sung together can come to the newest element at all, in any rhythm.

Every rhythm of parts is a walk over what they have on their lips at once, a tone each. The moves of
all kinds that forbid least make a graph of these; where no walk from a beginning to the end has the
newest element on its way, no rhythm needs to be tried.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import product
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from bot.music.joint import Joint
from bot.music.side import Side
from bot.music.slices import Stroke
from bot.music.sounding import Kind, Moved, Places, factors

Mask = NDArray[np.bool_]

_ON = (Stroke.STRIKE, Stroke.SEAM, Stroke.HOLD)
_NOBODY: Mapping[int, Sequence[int]] = MappingProxyType({})


def newest_has_place(
    joint: Joint, *, rests: bool, begins: Mapping[int, Sequence[int]] = _NOBODY
) -> bool:
    """Whether some walk has it: False is certain, True is not, since no rhythm is asked.

    `rests`: parts may be silent for a while. `begins` has the tones, as places in a side's list, on
    which some parts are bound to begin. True where the parts need nothing new.
    """
    if not any(any(needed) for *needed, _ in joint.rows):
        return True
    return _Walks(joint, rests=rests, begins=begins).newest()


class _Walks:
    """The graph of what all parts have at once."""

    def __init__(self, joint: Joint, *, rests: bool, begins: Mapping[int, Sequence[int]]) -> None:
        self._joint, self._begins = joint, begins
        self._sizes = [len(side.tones) for side in joint.sides]
        count = int(np.prod(self._sizes))
        self._moves: Mask = np.zeros((count, count), dtype=np.bool_)
        self._newest: Mask = np.zeros((count, count), dtype=np.bool_)
        for kind in self._kinds(rests=rests):
            self._add(kind)
        self._starts: Mask = np.full(count, rests)
        self._first: Mask = np.zeros(count, dtype=np.bool_)
        self._begin()

    def _kinds(self, *, rests: bool) -> Iterator[Kind]:
        """On weak beats, with perfect intervals as welcome as any: the kinds that forbid least."""
        strokes = (*_ON, Stroke.REST) if rests else _ON
        for row in product(strokes, repeat=len(self._sizes)):
            now = tuple(stroke is not Stroke.REST for stroke in row)
            for before in product((True, False) if rests else (True,), repeat=len(row)):
                yield Kind(strokes=row, before=before, now=now, strong=False, free=True)

    def _begin(self) -> None:
        """Mark the states in which all parts may begin, and those that are the newest by it."""
        parts = len(self._sizes)
        every = (Stroke.BEGIN,) * parts
        kind = Kind(every, (False,) * parts, (True,) * parts, strong=False, free=True)
        for _, there, new in self._legal(kind):
            self._starts[there] = True
            self._first[there] |= new

    def _add(self, kind: Kind) -> None:
        for here, there, new in self._legal(kind):
            self._moves[here, there] = True
            self._newest[here, there] |= new

    def _legal(self, kind: Kind) -> Iterator[tuple[int, int, bool]]:
        """The moves of a kind that no rule forbids: from a state to a state, whether it is new."""
        sides = self._joint.sides
        rows = [self._of_part(part, stroke) for part, stroke in enumerate(kind.strokes)]
        moves = [moved for moved, _ in rows]
        tones = [side.tones for side in sides]
        factor, _ = factors(kind, tones, moves, self._joint.castings, self._joint.manner)
        cells = np.nonzero(factor > 0.0)
        both = list(zip(moves, cells, strict=True))
        here = np.ravel_multi_index([moved.last[at] for moved, at in both], self._sizes)
        there = np.ravel_multi_index([moved.tone[at] for moved, at in both], self._sizes)
        new = np.zeros(len(here), dtype=np.bool_)
        for (_, hits), at in zip(rows, cells, strict=True):
            new |= hits[at] > 0
        yield from zip(here.tolist(), there.tolist(), new.tolist(), strict=True)

    def _of_part(self, part: int, stroke: Stroke) -> tuple[Moved, Places]:
        """The moves of a part, and which of them arrive at the newest element."""
        side: Side = self._joint.sides[part]
        ways = side.ways(stroke)
        last, tone, hit = np.unique(np.stack([ways.last, ways.tone, ways.hit]), axis=1)
        some = np.ones(len(tone), dtype=np.bool_)
        if stroke is Stroke.BEGIN:
            some = np.array(side.messages.start_weights())[tone] > 0.0
            if part in self._begins:
                some = np.isin(tone, self._begins[part])
        elif stroke is Stroke.SEAM:
            some = side.messages.seams(new=False)[last, tone]
        return Moved(last[some], tone[some]), hit[some]

    def newest(self) -> bool:
        """Whether a walk from a beginning to the end of all parts has the newest element."""
        ends = [side.tones.index(side.level.conditions.end) for side in self._joint.sides]
        end = np.zeros(len(self._moves), dtype=np.bool_)
        end[np.ravel_multi_index(ends, self._sizes)] = True
        ahead, back = _walked(self._starts, self._moves), _walked(end, self._moves.T)
        met = self._newest & ahead[:, None] & back[None, :]
        return bool(met.any() or (self._first & back).any())


def _walked(begin: Mask, moves: Mask) -> Mask:
    """All states that can be walked to."""
    found, before = begin, np.zeros_like(begin)
    while (found != before).any():
        before, found = found, found | moves[found].any(axis=0)
    return found
