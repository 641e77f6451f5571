"""All ways to sing several parts over given rhythms, summed exactly over slices.

The state between two slices has a context for each part, how often each still needs its newest
element, and how long the voices have gone on in parallel. Backward messages over these states give
the weight of everything that can follow, so a walk that goes by them draws all parts at once with
their exact joint probability: no part is ever left without a tone.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import product
from types import MappingProxyType
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from bot.music.edges import Chain, Edges, Kind, Singer, edges_of, kind_of
from bot.music.lines import Choice, Label, leads_through
from bot.music.messages import Floats
from bot.music.side import Places, Side
from bot.music.slices import Slice
from bot.music.voice_leading import Manner

_CHUNK = 2_000_000  # numbers summed in one go
_PACKED = 2  # tables of edges that are kept at a time


class Joint:
    """Parts that are sung together: their sides, who sings them, how they keep together.

    With several castings all tones go with each of them. `shared`: the parts need the newest
    element so often between them, instead of each as often as its side says.
    """

    def __init__(
        self,
        sides: Sequence[Side],
        castings: Sequence[Sequence[Singer]],
        manner: Manner,
        shared: int | None = None,
    ) -> None:
        self.sides, self.castings, self.manner = tuple(sides), tuple(castings), manner
        self._shared = shared
        self._edges: dict[Kind, Edges] = {}
        self._packed: dict[frozenset[Kind], tuple[dict[Kind, Edges], Places]] = {}
        chain = range((manner.chain or 0) + 1)
        needs = [side.hits for side in sides] if shared is None else [shared]
        self.rows = list(product(*(range(need + 1) for need in needs), chain))
        self.after = self._rows_after()

    def edges(self, kinds: frozenset[Kind]) -> tuple[dict[Kind, Edges], Places]:
        """Edges of some kinds between places in the list of states that they lead to, that list.

        Among them are those in which only the first part has a context: where a line begins.
        """
        if kinds not in self._packed:
            for kind in kinds - self._edges.keys():
                self._edges[kind] = edges_of(kind, self.sides, self.castings, self.manner)
            found = {kind: self._edges[kind] for kind in kinds}
            behind = int(np.prod([side.contexts for side in self.sides[1:]]))
            begin = np.arange(self.sides[0].contexts) * behind
            states = np.unique(np.concatenate([begin, *(each.dst for each in found.values())]))
            packed = {kind: _renumbered(each, states) for kind, each in found.items()}
            while len(self._packed) >= _PACKED:
                del self._packed[next(iter(self._packed))]
            self._packed[kinds] = packed, states
        return self._packed[kinds]

    @property
    def bytes(self) -> int:
        """The memory that the tables of edges take."""
        tables = [self._edges, *(table for table, _ in self._packed.values())]
        rows = (row for table in tables for each in table.values() for row in _rows(each))
        return sum(int(row.nbytes) for row in rows)

    def _rows_after(self) -> Places:
        """[row, pattern] -> the row after an edge; one behind the last where none is allowed."""
        number = {row: place for place, row in enumerate(self.rows)}
        parts = len(self.sides)
        patterns = len(Chain) << parts
        table = np.full((len(self.rows), patterns), len(self.rows), dtype=np.int64)
        for place, (*needed, chain) in enumerate(self.rows):
            for pattern in range(patterns):
                hits = [pattern >> bit & 1 for bit in range(parts)]
                hits = hits if self._shared is None else [sum(hits)]
                left = [max(n - hit, 0) for n, hit in zip(needed, hits, strict=True)]
                longer = self._longer(chain, Chain(pattern >> parts))
                if longer <= (self.manner.chain or 0):
                    table[place, pattern] = number[*left, longer]
        return table

    def _longer(self, chain: int, move: Chain) -> int:
        """The length of a chain after a move; without a limit nobody counts."""
        if self.manner.chain is None:
            return 0
        match move:
            case Chain.BROKEN:
                return 0
            case Chain.LONGER:
                return chain + 1
            case Chain.KEPT:
                return chain


def _rows(edges: Edges) -> tuple[NDArray[np.int32] | Floats, ...]:
    return (edges.src, edges.dst, edges.factor, edges.pattern, *edges.ways)


def _renumbered(edges: Edges, states: Places) -> Edges:
    """Edges between states by their place in a list; those from elsewhere are left out."""
    place = np.searchsorted(states, edges.src)
    kept = np.flatnonzero(states[np.minimum(place, len(states) - 1)] == edges.src)
    return Edges(
        place[kept].astype(np.int32),
        np.searchsorted(states, edges.dst[kept]).astype(np.int32),
        tuple(row[kept] for row in edges.ways),
        edges.factor[kept],
        edges.pattern[kept],
    )


class _State(NamedTuple):
    """Before slice `slice`, in a joint context, in a row of what is still needed."""

    slice: int
    context: int
    row: int


class JointLines:
    """Every setting of the parts over the slices; a label has the tone of each part.

    `given` has the tones of parts that are fixed already, note by note. `bound` is a context from
    which the first part goes on and in which the last part ends: one line in two halves.
    """

    def __init__(
        self,
        joint: Joint,
        slices: Sequence[Slice],
        given: Mapping[int, Sequence[int]] = MappingProxyType({}),
        bound: int | None = None,
    ) -> None:
        self._joint, self._slices = joint, tuple(slices)
        self._given = {side: list(tones) for side, tones in given.items()}
        before: list[Slice | None] = [None, *self._slices[:-1]]
        kinds = [kind_of(now, was) for now, was in zip(self._slices, before, strict=True)]
        table, self._contexts = joint.edges(frozenset(kinds))
        self._states, self._bound = len(self._contexts), bound
        self._edges = [table[kind] for kind in kinds]
        self._weights: list[Floats] = []
        self._after: list[Floats] = []
        first = self._back()
        start = len(joint.rows) - 1 - (joint.manner.chain or 0)
        behind = int(np.prod([side.contexts for side in joint.sides[1:]]))
        begin = int(np.searchsorted(self._contexts, (bound or 0) * behind))
        self.root = _State(0, begin, start)
        self.total = float(first[begin, start])

    def _back(self) -> Floats:
        joint, rows = self._joint, len(self._joint.rows)
        message = np.zeros((self._states, rows + 1))
        for place, (*needed, _) in enumerate(joint.rows):
            message[:, place] = not any(needed)
        if self._bound is not None:
            message[self._contexts % joint.sides[-1].contexts != self._bound] = 0.0
        for slice_, edges in zip(reversed(self._slices), reversed(self._edges), strict=True):
            weights = edges.factor.copy()
            for number, struck in enumerate(slice_.struck):
                if struck is not None:
                    weights *= self._of_side(number, slice_)[edges.ways[number]]
            self._weights.append(weights)
            self._after.append(message)
            message = self._step(message, edges, weights)
        self._weights.reverse()
        self._after.reverse()
        return message

    def _of_side(self, number: int, slice_: Slice) -> Floats:
        """The weight of each way on of one part; only that of its given tone where there is one."""
        side, stroke = self._joint.sides[number], slice_.strokes[number]
        if number not in self._given:
            return side.weights(stroke, slice_.struck[number])
        fits: Floats = np.where(side.ways(stroke).tone == self._given[number].pop(), 1.0, 0.0)
        return fits

    def _step(self, after: Floats, edges: Edges, weights: Floats) -> Floats:
        """One slice backward; sums run over the edges of a state in their order."""
        table = self._joint.after
        # For each pattern of an edge, what it leads to from each row, states side by side.
        patterns, which = np.unique(edges.pattern, return_inverse=True)
        led = np.concatenate([after[:, table[:, p]] for p in patterns])
        places = which * self._states + edges.dst
        message = np.zeros_like(after)
        sources, firsts = np.unique(edges.src, return_index=True)
        step = max(_CHUNK // table.shape[0], 1)
        ends = np.append(firsts[1:], len(edges.src))
        begin = 0
        while begin < len(sources):
            end = max(int(np.searchsorted(ends, firsts[begin] + step)), begin + 1)
            cut = slice(int(firsts[begin]), int(ends[end - 1]))
            ways = led[places[cut]] * weights[cut, None]
            sums = np.add.reduceat(ways, firsts[begin:end] - firsts[begin], axis=0)
            message[sources[begin:end], :-1] = sums
            begin = end
        return message

    def legal_moves(self) -> Iterator[Places]:
        """For each slice the states between which some setting may move: shape (moves, 2)."""
        for edges, weights in zip(self._edges, self._weights, strict=True):
            moves = np.stack((edges.src, edges.dst), axis=1)[weights > 0.0]
            yield np.unique(moves, axis=0).astype(np.int64)

    @property
    def size(self) -> int:
        """The exact number of settings; slow where there are many states."""
        joint = self._joint
        found = {(self.root.context, self.root.row): 1}
        for number, edges in enumerate(self._edges):
            after: dict[tuple[int, int], int] = {}
            for (context, row), count in found.items():
                first, last = np.searchsorted(edges.src, [context, context + 1])
                for edge in range(first, last):
                    row_after = int(joint.after[row, edges.pattern[edge]])
                    if self._weights[number][edge] > 0.0 and row_after < len(joint.rows):
                        key = int(edges.dst[edge]), row_after
                        after[key] = after.get(key, 0) + count
            found = after
        return sum(n for key, n in found.items() if self._after[-1][key] > 0.0)

    def choices(self, state: tuple[object, ...]) -> list[Choice]:
        """The tones that may sound next, with the weight of all that can follow."""
        assert isinstance(state, _State)
        if state.slice == len(self._slices):
            return []
        joint, edges = self._joint, self._edges[state.slice]
        first, last = np.searchsorted(edges.src, [state.context, state.context + 1])
        rows = joint.after[state.row][edges.pattern[first:last]]
        contexts = edges.dst[first:last]
        masses = self._weights[state.slice][first:last] * self._after[state.slice][contexts, rows]
        found = []
        for place in np.flatnonzero(masses > 0.0):
            context, row = int(contexts[place]), int(rows[place])
            label = tuple(
                int(side.ways(stroke).tone[ways[first + place]])
                for side, stroke, ways in zip(
                    joint.sides, self._slices[state.slice].strokes, edges.ways, strict=True
                )
            )
            after = _State(state.slice + 1, context, row)
            found.append(Choice(label, float(masses[place]), after))
        return found

    def tones(self, labels: Sequence[Label]) -> tuple[int, ...]:
        """The tones of all parts, slice by slice, as places in each side's list."""
        return tuple(tone for label in labels if isinstance(label, tuple) for tone in label)

    def labels(self, tones: Sequence[int]) -> tuple[Label, ...] | None:
        """The labels that give these tones, None where no setting has them."""
        parts = len(self._joint.sides)
        labels = tuple(tuple(tones[p : p + parts]) for p in range(0, len(tones), parts))
        return labels if leads_through(self, labels) else None

    def slice_by_slice(self, rows: Sequence[Sequence[int]]) -> list[int]:
        """The tones of all parts slice by slice, from those of each part's notes in order."""
        found: list[int] = []
        now = [0] * len(rows)
        notes = [iter(row) for row in rows]
        for slice_ in self._slices:
            for side, struck in enumerate(slice_.struck):
                if struck is not None:
                    now[side] = next(notes[side])
            found += now
        return found

    def parts(self, tones: Sequence[int]) -> tuple[tuple[int, ...], ...]:
        """The tones of each part's notes in order, without what is held."""
        count = len(self._joint.sides)
        return tuple(
            tuple(
                tones[number * count + side]
                for number, slice_ in enumerate(self._slices)
                if slice_.struck[side] is not None
            )
            for side in range(count)
        )
