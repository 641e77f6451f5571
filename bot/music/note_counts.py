"""How many notes each phrase has to have so that some line of tones fits them.

With the rhythm's beats left out, whether tones exist for a rhythm depends on the number of notes of
each phrase alone. From some number on more notes never hurt (a tone may be repeated), so a small
table answers for every length.
"""

from __future__ import annotations

from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from bot.music.messages import Floats, Messages

_MOST = 64  # notes in four measures of sixteenths


class NoteCounts:
    """`fits` for one or two phrases; `caps` numbers at which a count may be held fast."""

    def __init__(self, messages: Messages, phrases: int) -> None:
        self.messages, self._phrases = messages, phrases
        self.tones = messages.moves.tones
        self._legal = messages.moves.legal.astype(np.float64)

    @cached_property
    def _fits(self) -> list[list[bool]]:
        messages = self.messages
        closing = self._phrase(messages.last_only(self._legal), messages.finish())
        if self._phrases == 1:
            opened = self._opened(closing, messages.last_only(self._legal), messages.finish())
            return [[self._starts(message)] for message in opened]
        halves = messages.half_only(self._legal)
        columns = []
        for message in closing:
            seam = self._over_seam(message)
            opening = self._opened(self._phrase(halves, seam), halves, seam)
            columns.append([self._starts(before) for before in opening])
        most = max(len(column) for column in columns)
        full = [[*column, *[column[-1]] * (most - len(column))] for column in columns]
        return [list(row) for row in zip(*full, strict=True)]

    @property
    def caps(self) -> tuple[int, int]:
        """Numbers of notes of the first and second phrase from which on more do not matter."""
        return len(self._fits) - 1, len(self._fits[0]) - 1

    def _phrase(self, last: Floats, end: Floats) -> list[Floats]:
        """Messages after the first note of a phrase of 0, 1, 2 ... notes, until they stay.

        A phrase of fewer than two notes is none.
        """
        none: Floats = np.zeros_like(end)
        found = [none, none, self._back(end, last)]
        while len(found) <= _MOST:
            found.append(self._back(found[-1], self._legal))
            if np.array_equal(found[-1], found[-2]):
                return found[:-1]
        return found

    def _opened(self, phrase: list[Floats], last: Floats, end: Floats) -> list[Floats]:
        """The messages of a phrase where it is the first of its line, by its second note."""
        messages = self.messages
        if not messages.both_ways:
            return phrase

        def back(after: Floats, ways: Floats) -> Floats:
            return self._back(after, messages.come_back(ways, second=True, after_new=False))

        longer = [back(after, self._legal) for after in [*phrase[2:], phrase[-1]]]
        return [*phrase[:2], back(end, last), *longer]

    def _back(self, after: Floats, ways: Floats) -> Floats:
        messages = self.messages
        return _some(messages.back(after, messages.fewer(after), ways))

    def _over_seam(self, after: Floats) -> Floats:
        messages = self.messages
        return _some(messages.back_over_seam(after, messages.seams(new=False).astype(np.float64)))

    def _starts(self, message: Floats) -> bool:
        messages = self.messages
        hits, first_hit = messages.hits, messages.moves.first_hit
        return any(
            message[max(hits - first_hit[tone], 0), context] > 0.0
            for _, tone, context in messages.openings()
        )

    def fits(self, first: int, second: int = 0) -> bool:
        """Whether tones exist for phrases of so many notes (`second` 0 where there is one)."""
        return self._fits[min(first, self.caps[0])][min(second, self.caps[1])]


def _some(message: Floats) -> NDArray[np.float64]:
    return (message > 0.0).astype(np.float64)
