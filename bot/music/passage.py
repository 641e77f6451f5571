"""One slice backward for all parts at once: from the sums after it to those before it.

What can follow a state is a sum over a way on of each part. The factor of a move of all parts looks
only at their tones, and where ways lead only at their arcs; so the sum over arcs is taken up first,
and then part by part its arcs give way to the contexts that can take them. That is the same sum as
over every edge between two states, with far fewer terms.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from bot.music.arcs import Arcs, Contexts
from bot.music.blocks import Blocks, on_axes
from bot.music.messages import Floats
from bot.music.sounding import Places


class Table:
    """The moves of all parts of one kind with their factors, and the blocks that they lead to.

    `pattern` of a move has a bit for each part, empty, and above them what becomes of a chain.
    """

    def __init__(self, arcs: Sequence[Arcs], factor: Floats, chain: Places) -> None:
        self.arcs, self.factor = tuple(arcs), factor
        self.pattern = chain << len(arcs)
        led = np.zeros([len(each.sizes) for each in arcs], dtype=np.bool_)
        moves = np.nonzero(factor > 0.0)
        led[tuple(each.moves.tone[row] for each, row in zip(arcs, moves, strict=True))] = True
        self.leads_to = [tuple(block) for block in np.argwhere(led).tolist()]

    @property
    def bytes(self) -> int:
        """The memory that it takes."""
        return int(self.factor.nbytes + self.pattern.nbytes)

    def at(self, arcs: Sequence[Places]) -> tuple[Floats, Places]:
        """Factor and pattern of some arcs of each part, with the bits of parts that hit."""
        moves = on_axes([each.move[row] for each, row in zip(self.arcs, arcs, strict=True)])
        hits = on_axes([each.hit[row] for each, row in zip(self.arcs, arcs, strict=True)])
        pattern = self.pattern[tuple(moves)]
        for part, hit in enumerate(hits):
            pattern = pattern + (hit << part)
        return self.factor[tuple(moves)], pattern


class Passage:
    """From states before a slice to states after it.

    `rows[row, pattern]` is the row after a move; a message has shape (states + 1, rows + 1), its
    last state and row are those that lead nowhere.
    """

    def __init__(
        self,
        table: Table,
        contexts: Sequence[Contexts],
        before: Blocks,
        after: Blocks,
        rows: Places,
    ) -> None:
        self._table, self._before, self._rows = table, before, len(rows)
        self._sizes = [(c.sizes, a.sizes) for c, a in zip(contexts, table.arcs, strict=True)]
        parts = len(contexts)
        # With each part in the lead: the later ones are at contexts already, the earlier at arcs.
        self._at_arcs = [self._lay_out(lead, lead + 1) for lead in range(parts)]
        self._led = [self._lay_out(lead, lead) for lead in range(parts)]
        self._gather(contexts, after, rows)
        self._turns = [_turned(self._led[p + 1], self._at_arcs[p]) for p in range(parts - 1)]

    def _lay_out(self, lead: int, at_arcs: int) -> Blocks:
        """The first so many parts at arcs, the others at contexts."""
        sizes = [each[part < at_arcs] for part, each in enumerate(self._sizes)]
        return Blocks(self._before.blocks, sizes, lead)

    def _gather(self, contexts: Sequence[Contexts], after: Blocks, rows: Places) -> None:
        """Where each tuple of arcs finds what it leads to from each row, and its factor."""
        arcs = self._table.arcs
        begins = [np.cumsum(each.sizes) - each.sizes for each in arcs]
        last = self._at_arcs[-1]
        self._size, cells, factors, states = last.size, [], [], []
        for block in last.blocks:
            own = [
                np.arange(begin[on], begin[on] + each.sizes[on])
                for each, begin, on in zip(arcs, begins, block, strict=True)
            ]
            factor, pattern = self._table.at(own)
            to = [each.to[row] for each, row in zip(arcs, own, strict=True)]
            tones = on_axes([each.tone[row] for each, row in zip(contexts, to, strict=True)])
            places = on_axes([each.place[row] for each, row in zip(contexts, to, strict=True)])
            state = after.numbers(tones, places)[..., None] * (self._rows + 1) + rows.T[pattern]
            some = factor > 0.0
            cells.append(last.of(block)[some])
            factors.append(factor[some])
            states.append(state[some])
        self._cells = np.concatenate(cells)
        self._factor, self._from = np.concatenate(factors), np.concatenate(states)

    @property
    def bytes(self) -> int:
        """The memory that its tables take."""
        tables = (self._cells, self._factor, self._from, *self._turns)
        return sum(int(each.nbytes) for each in tables)

    def back(self, after: Floats, weights: Sequence[Sequence[float] | None]) -> Floats:
        """The message before the slice, from the weights of each part's ways on.

        None where a part stays in its context. A message of whole numbers is one of how many
        settings there are.
        """
        counted = after.dtype == object
        factor = np.ones(len(self._factor), dtype=object) if counted else self._factor
        now: Floats = np.zeros((self._size, self._rows), dtype=after.dtype)
        now[self._cells] = after.reshape(-1).take(self._from) * factor[:, None]
        for part in reversed(range(len(self._led))):
            of_part = weights[part]
            if of_part is not None:
                now = self._to_contexts(part, now, of_part)
            if part:
                now = now.take(self._turns[part - 1], axis=0)
        message = np.zeros((self._before.size + 1, self._rows + 1), dtype=after.dtype)
        message[:-1, :-1] = now
        return message

    def _to_contexts(self, part: int, now: Floats, weights: Sequence[float]) -> Floats:
        """Sum over the ways on from each context of a part, in their order."""
        led, ways_on = self._led[part], self._table.arcs[part].ways_on
        found: Floats = np.zeros((led.size, self._rows), dtype=now.dtype)
        for arcs, contexts in zip(self._at_arcs[part].chunks, led.chunks, strict=True):
            terms = now[arcs.cut].reshape(arcs.things, arcs.beside * self._rows)
            sums = found[contexts.cut].reshape(contexts.things, contexts.beside * self._rows)
            for context, arc, number in ways_on[arcs.tone]:
                if weights[number] > 0.0:
                    sums[context] += terms[arc] * weights[number]
        return found


def _turned(old: Blocks, new: Blocks) -> Places:
    """For each number in the new order its number in the old one."""
    turn: Places = np.zeros(new.size, dtype=np.int64)
    for block in new.blocks:
        turn[new.of(block)] = old.of(block)
    return turn
