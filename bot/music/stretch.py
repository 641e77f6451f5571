"""A stretch of notes within a phrase: its messages, kept, and the ways on from any point in it."""

from __future__ import annotations

from typing import Protocol

import numpy as np

from bot.music.messages import Floats, Messages
from bot.music.skeleton import Skeleton


class Counting(Protocol):
    """How a stretch keeps count of the newest element."""

    def shift(self, after: Floats) -> Floats:
        """The message read by a way on that is a hit."""
        ...

    def after_hit(self, count: int) -> tuple[int, ...]:
        """What the count may be after a hit; several where several lead to the same."""
        ...


class StillNeeded:
    """Counts down what is needed at least; `hits` is how much one arrival counts."""

    def __init__(self, messages: Messages, hits: int = 1) -> None:
        self._messages, self._hits = messages, hits

    def shift(self, after: Floats) -> Floats:
        """The message with so many fewer needed."""
        return self._messages.fewer(after, self._hits)

    def after_hit(self, count: int) -> tuple[int, ...]:
        """What is needed then."""
        return (max(count - self._hits, 0),)


class StillToCome:
    """Counts what comes, exactly; the highest count stands for itself and everything above it."""

    def __init__(self, messages: Messages) -> None:
        self._most = messages.hits

    def shift(self, after: Floats) -> Floats:
        """The message of one fewer to come; the highest count is reached from itself too."""
        shifted: Floats = np.zeros_like(after)
        shifted[..., 1:, :] = after[..., :-1, :]
        if self._most:
            shifted[..., self._most, :] += after[..., self._most, :]
        return shifted

    def after_hit(self, count: int) -> tuple[int, ...]:
        """What may come after."""
        if count == 0:
            return ()
        return (count - 1, count) if count == self._most else (count - 1,)


Way = tuple[int, float, int, int]  # a tone, the weight of all behind it, its context, the count


class Stretch:
    """Notes `first` to `last` of a skeleton, the first of them with a note of its phrase before it.

    `end` is the message after the last note, over ([batch,] counts, contexts); `start` the one
    before the first.
    """

    def __init__(
        self,
        messages: Messages,
        skeleton: Skeleton,
        first: int,
        last: int,
        end: Floats,
        counting: Counting,
    ) -> None:
        self._messages, self._counting = messages, counting
        self._rows: dict[int, Floats] = {}
        self._weights: dict[int, Floats] = {}
        message = end
        for note in range(last, first - 1, -1):
            weights = self._weights[note] = _weights(messages, skeleton, note)
            row = self._rows[note] = messages.row(message, counting.shift(message))
            message = messages.back_row(row, weights)
        self.start = message

    def ways(self, note: int, context: int, count: int, batch: int | None = None) -> list[Way]:
        """Every way on to `note` with a future, in the table's order."""
        messages, weights = self._messages, self._weights[note]
        row = self._rows[note] if batch is None else self._rows[note][batch]
        masses = messages.masses(row, weights, context, count)
        after_hit = self._counting.after_hit(count)
        found: list[Way] = []
        ways = zip(messages.moves.ways[context], masses, strict=False)
        for k, ((to, tone, hit), mass) in enumerate(ways):
            if mass <= 0.0:
                continue
            if not hit:
                found.append((tone, mass, to, count))
            elif len(after_hit) == 1:
                found.append((tone, mass, to, after_hit[0]))
            else:  # the mass of several together
                for each in after_hit:
                    part = float(weights[k, context] * row[each, to])
                    if part > 0.0:
                        found.append((tone, part, to, each))
        return found


def _weights(messages: Messages, skeleton: Skeleton, note: int) -> Floats:
    new = skeleton.new[note]
    weights = messages.way_weights(skeleton.places[note], new=new)
    weights = messages.come_back(weights, second=note == 1, after_new=skeleton.new[note - 1])
    if note == skeleton.notes - 1:
        return messages.last_only(weights, new=new)
    return messages.half_only(weights) if note + 1 in skeleton.phrase_ends else weights
