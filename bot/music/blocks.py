"""Numbers for all that several parts can be at once, in blocks by the tones that they are on."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from bot.music.sounding import Places

Block = tuple[int, ...]  # a tone of each part


class Chunk(NamedTuple):
    """All numbers in which the leading part is on one tone: `things` of it, `beside` with each."""

    tone: int
    begin: int
    things: int
    beside: int

    @property
    def cut(self) -> slice:
        """Where they stand."""
        return slice(self.begin, self.begin + self.things * self.beside)


class Blocks:
    """Tuples of things, one of each part, where their tones make one of the blocks.

    `sizes` has, for each part, how many things are on each tone. The leading part's things on one
    tone come one after the other, with the same company each.
    """

    def __init__(self, blocks: Sequence[Block], sizes: Sequence[Places], lead: int) -> None:
        self.blocks, self._sizes, self._lead = tuple(blocks), tuple(sizes), lead
        self._begin: Places = np.full([len(row) for row in sizes], -1)
        self._beside: Places = np.zeros(len(sizes[lead]), dtype=np.int64)
        self.chunks: list[Chunk] = []
        self.size = 0
        for tone in sorted({block[lead] for block in blocks}):
            self._add([block for block in blocks if block[lead] == tone], tone)

    def _add(self, blocks: Sequence[Block], tone: int) -> None:
        beside = 0
        for block in blocks:
            self._begin[block] = self.size + beside
            others = (int(row[on]) for row, on in zip(self._sizes, block, strict=True))
            beside += int(np.prod([n for part, n in enumerate(others) if part != self._lead]))
        self._beside[tone] = beside
        things = int(self._sizes[self._lead][tone])
        self.chunks.append(Chunk(tone, self.size, things, beside))
        self.size += things * beside

    def numbers(self, tones: Sequence[Places], places: Sequence[Places]) -> Places:
        """The number of each tuple: the tones and the places on them, broadcast together.

        It is `size` where the tones make no block.
        """
        rest: Places = np.array(0)
        for part, (on, place) in enumerate(zip(tones, places, strict=True)):
            if part != self._lead:
                rest = rest * self._sizes[part][on] + place
        begin = self._begin[tuple(tones)]
        led = places[self._lead] * self._beside[tones[self._lead]]
        return np.where(begin < 0, self.size, begin + led + rest)

    def of(self, block: Block) -> Places:
        """The numbers of all tuples of a block, shape: things of each part."""
        counts = [int(row[on]) for row, on in zip(self._sizes, block, strict=True)]
        places = on_axes([np.arange(count) for count in counts])
        return self.numbers([np.array(on) for on in block], places)


def on_axes(rows: Sequence[Places]) -> list[Places]:
    """Each row along an axis of its own, so that all of them broadcast together."""
    shapes = np.where(np.eye(len(rows), dtype=np.bool_), -1, 1)
    return [row.reshape(shape) for row, shape in zip(rows, shapes.tolist(), strict=True)]
