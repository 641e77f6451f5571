"""The ways on of one part, gathered by what is the same for all contexts on a tone.

Contexts on one tone differ in how welcome a way on is, hardly in where it leads. So ways on of one
kind share few arcs, each from a tone by a move to a context, and sums over several parts can be
made over arcs first.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from bot.music.side import Side
from bot.music.slices import Stroke
from bot.music.sounding import Moved, Places


class Contexts:
    """The contexts of a part by the tone that they are on.

    `tone` and `place` of each context, the place among those on its tone; `sizes` says how many
    there are on each tone.
    """

    def __init__(self, side: Side) -> None:
        self.tone = side.ways(Stroke.HOLD).last
        self.sizes = np.bincount(self.tone, minlength=len(side.tones))
        self.place = place_among(self.tone)

    def __len__(self) -> int:
        return len(self.tone)


class Way(NamedTuple):
    """A way on by its number: the places of its context and of its arc among those on a tone."""

    context: int
    arc: int
    number: int


class Arcs:
    """The ways on of one kind as arcs, those from one tone side by side.

    `move`, `to` and `hit` of each arc: its row in `moves`, the context it leads to, whether it is
    the newest element; `sizes` says how many start from each tone, `ways_on` has the ways on from
    each tone. `arc` is the arc of each way.
    """

    def __init__(self, side: Side, contexts: Contexts, stroke: Stroke) -> None:
        ways, size = side.ways(stroke), len(side.tones)
        columns = (contexts.tone[ways.src], ways.last, ways.tone, ways.to, ways.hit)
        rows, self.arc = np.unique(np.stack(columns, axis=1), axis=0, return_inverse=True)
        tone, last, new, self.to, self.hit = rows.T
        moves, self.move = np.unique(last * size + new, return_inverse=True)
        self.moves = Moved(moves // size, moves % size)
        self.sizes = np.bincount(tone, minlength=size)
        self._tones = ways.tone
        self._by_context = np.argsort(ways.src, kind="stable")
        self._first = np.searchsorted(ways.src[self._by_context], np.arange(len(contexts) + 1))
        self.ways_on = self._by_tone(contexts, ways.src, place_among(tone))

    def _by_tone(self, contexts: Contexts, src: Places, place: Places) -> list[list[Way]]:
        """The ways on from each tone, in the order of the contexts on it."""
        found: list[list[Way]] = [[] for _ in self.sizes]
        order = self._by_context
        rows = (contexts.tone[src], contexts.place[src], place[self.arc])
        tones, froms, arcs = (row[order].tolist() for row in rows)
        for tone, *way in zip(tones, froms, arcs, order.tolist(), strict=True):
            found[tone].append(Way(*way))
        return found

    def ways_from(self, context: int) -> Places:
        """The ways on from a context."""
        return self._by_context[self._first[context] : self._first[context + 1]]

    def tones_of(self, ways: Places) -> Places:
        """The tones that ways lead to."""
        return self._tones[ways]


def place_among(groups: Places) -> Places:
    """The place of each among those of its group, in the order in which they come.

    >>> place_among(np.array([0, 0, 1, 0, 1])).tolist()
    [0, 1, 0, 2, 1]
    """
    order = np.argsort(groups, kind="stable")
    ranked = groups[order]
    place = np.empty(len(groups), dtype=np.int64)
    place[order] = np.arange(len(groups)) - np.searchsorted(ranked, ranked)
    return place
