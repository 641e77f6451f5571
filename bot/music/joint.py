"""Parts that are sung together, and the tables of all their moves, made once for every rhythm.

The state between two slices has a context for each part, how often each still needs its newest
element, and how long the voices have gone on in parallel.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import product

import numpy as np

from bot.music.arcs import Arcs, Contexts
from bot.music.blocks import Block, Blocks
from bot.music.messages import Floats
from bot.music.passage import Passage, Table
from bot.music.side import Places, Side
from bot.music.slices import Stroke, Struck
from bot.music.sounding import Chain, Kind, Singer, factors
from bot.music.voice_leading import Manner


class Joint:
    """Parts that are sung together: their sides, who sings them, how they keep together.

    With several castings all tones go with each of them. `shared`: the parts need the newest
    element so often between them, instead of each as often as its side says. Tables are made when
    they are needed and kept for the next rhythm.
    """

    def __init__(
        self,
        sides: Sequence[Side],
        castings: Sequence[Sequence[Singer]],
        manner: Manner,
        shared: int | None = None,
    ) -> None:
        self.sides, self.castings, self.manner = tuple(sides), tuple(castings), manner
        self.shared = shared
        self.contexts = tuple(Contexts(side) for side in sides)
        self._arcs: dict[tuple[int, Stroke], Arcs] = {}
        self._tables: dict[Kind, Table] = {}
        self._states: dict[Kind | None, Blocks] = {None: self._begin()}
        self._passages: dict[tuple[Kind | None, Kind], Passage] = {}
        self._weights: dict[tuple[int, Stroke, Struck], Floats] = {}
        chain = range((manner.chain or 0) + 1)
        needs = [side.hits for side in sides] if shared is None else [shared]
        self.rows = list(product(*(range(need + 1) for need in needs), chain))
        self.after = self._rows_after()

    def _begin(self) -> Blocks:
        """States of which only the first part has a context of its own: where a line begins."""
        others = [int(each.tone[0]) for each in self.contexts[1:]]
        return self._in_blocks([(tone, *others) for tone in range(len(self.sides[0].tones))])

    def _in_blocks(self, blocks: Sequence[Block]) -> Blocks:
        return Blocks(blocks, [each.sizes for each in self.contexts], lead=0)

    def table(self, kind: Kind) -> Table:
        """The moves of a kind."""
        if kind not in self._tables:
            arcs = [self._arcs_of(part, stroke) for part, stroke in enumerate(kind.strokes)]
            tones, moves = [side.tones for side in self.sides], [each.moves for each in arcs]
            table = Table(arcs, *factors(kind, tones, moves, self.castings, self.manner))
            self._tables[kind] = table
        return self._tables[kind]

    def _arcs_of(self, part: int, stroke: Stroke) -> Arcs:
        if (part, stroke) not in self._arcs:
            arcs = Arcs(self.sides[part], self.contexts[part], stroke)
            self._arcs[part, stroke] = arcs
        return self._arcs[part, stroke]

    def states(self, kind: Kind | None) -> Blocks:
        """The states that moves of a kind lead to; with None those in which a line begins."""
        if kind not in self._states:
            assert kind is not None, "there from the beginning"
            self._states[kind] = self._in_blocks(self.table(kind).leads_to)
        return self._states[kind]

    def passage(self, before: Kind | None, kind: Kind) -> Passage:
        """One slice backward, over moves of a kind that come after those of another."""
        if (before, kind) not in self._passages:
            states = self.states(before), self.states(kind)
            passage = Passage(self.table(kind), self.contexts, *states, self.after)
            self._passages[before, kind] = passage
        return self._passages[before, kind]

    def weights(self, part: int, stroke: Stroke, struck: Struck) -> Floats:
        """The weight of each way on of a part to a note."""
        if (part, stroke, struck) not in self._weights:
            self._weights[part, stroke, struck] = self.sides[part].weights(stroke, struck)
        return self._weights[part, stroke, struck]

    @property
    def bytes(self) -> int:
        """The memory that the tables take."""
        tables = sum(each.bytes for each in self._tables.values())
        passages = sum(each.bytes for each in self._passages.values())
        return tables + passages + sum(int(each.nbytes) for each in self._weights.values())

    def _rows_after(self) -> Places:
        """[row, pattern] -> the row after an edge; one behind the last where none is allowed."""
        number = {row: place for place, row in enumerate(self.rows)}
        parts = len(self.sides)
        patterns = len(Chain) << parts
        table = np.full((len(self.rows), patterns), len(self.rows), dtype=np.int64)
        for place, (*needed, chain) in enumerate(self.rows):
            for pattern in range(patterns):
                hits = [pattern >> bit & 1 for bit in range(parts)]
                hits = hits if self.shared is None else [sum(hits)]
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
