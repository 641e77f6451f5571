"""A stretch of notes within a phrase: its messages, kept, and the ways on from any point in it."""

from __future__ import annotations

from typing import NamedTuple, Protocol

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


class Way(NamedTuple):
    """One way on: its tone, the weight of everything that can follow, where it leads."""

    tone: int
    mass: float
    context: int
    hits: int


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
        self._messages, self._counting, self._first = messages, counting, first
        self._after: list[Floats] = []
        self._weights: list[Floats] = []
        message = end
        for note in range(last, first - 1, -1):
            weights = _weights(messages, skeleton, note)
            self._after.append(message)
            self._weights.append(weights)
            message = messages.back(message, counting.shift(message), weights)
        self._after.reverse()
        self._weights.reverse()
        self.start = message

    def ways(self, note: int, context: int, count: int, batch: int | None = None) -> list[Way]:
        """Every way on to `note` with a future, in the table's order."""
        moves = self._messages.moves
        after, weights = self._after[note - self._first], self._weights[note - self._first]
        if batch is not None:
            after = after[batch]
        found = []
        column = weights[:, context].tolist()
        for k, weight in enumerate(column):
            if weight == 0.0:
                continue
            to = int(moves.to[k, context])
            counts = self._counting.after_hit(count) if moves.hit[k, context] else (count,)
            for each in counts:
                mass = weight * float(after[each, to])
                if mass > 0.0:
                    found.append(Way(int(moves.tone[k, context]), mass, to, each))
        return found


def _weights(messages: Messages, skeleton: Skeleton, note: int) -> Floats:
    new = skeleton.new[note]
    weights = messages.way_weights(skeleton.places[note], new=new)
    weights = messages.come_back(weights, second=note == 1, after_new=skeleton.new[note - 1])
    if note == skeleton.notes - 1:
        return messages.last_only(weights, new=new)
    return messages.half_only(weights) if note + 1 in skeleton.phrase_ends else weights
