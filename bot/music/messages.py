"""Backward messages: the weight of every way to finish a line from each context.

A message is an array over (hits still needed, contexts), after a batch where there is one; one
gather reads a whole step. Sums run over the ways on in a fixed order, with plain additions and
products, so that the same numbers come out on every machine.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from bot.music.exercise import Tone
from bot.music.habits import (
    NEW,
    Place,
    move_weight,
    place_weight,
    seam_weight,
    size_weight,
    start_weight,
)
from bot.music.level import Level
from bot.music.moves import Moves

Floats = NDArray[np.float64]


class Messages:
    """The melodic side of one level within a range: tables, weights, steps backward.

    `hits` is how often the newest element is needed; a message has a row for each of 0 to `hits`.
    """

    def __init__(self, level: Level, tones: tuple[Tone, ...], hits: int) -> None:
        self.moves = Moves(tones, level.skips, level.rules.equal_notes, level.pitch_focus)
        self.hits = hits
        self.width = hits + 1
        self.steps = [tone.step for tone in tones]
        conditions = level.conditions
        self.starts = [tone in conditions.start for tone in tones]
        self.halves = np.array([tone in conditions.half_cadence for tone in tones])
        self.end = tones.index(conditions.end) if conditions.end in tones else -1
        cadence = np.array([tone in conditions.cadence for tone in tones])
        self.closes = cadence[self.moves.last]
        self._lay_out()
        self._weigh()
        self.arrives = np.array(self.moves.arrives)
        self._seams: Floats | None = None
        self._placed: dict[Place, Floats] = {}
        self._tones_placed: dict[Place, Floats] = {}

    def _lay_out(self) -> None:
        """Where each way on reads its message: the plain one first, the one after a hit behind."""
        moves, width = self.moves, self.width
        self.contexts = moves.to.shape[1]
        needed = np.arange(width)[:, None] * self.contexts
        after_hit = moves.hit[:, None] * (self.contexts * width)
        self.index = moves.to[:, None] + needed + after_hit

    def _weigh(self) -> None:
        moves, steps = self.moves, self.steps
        self.base: Floats = np.zeros(moves.to.shape)
        self.size: NDArray[np.int64] = np.zeros(moves.to.shape, dtype=np.int64)
        for m, memory in enumerate(moves.memories):
            before = steps[memory.before] if memory.before >= 0 else None
            last = steps[memory.last]
            for k in np.flatnonzero(moves.legal[:, m]):
                to = steps[moves.tone[k, m]]
                weight = move_weight(before, last, to, memory.equal)
                self.base[k, m] = weight * (NEW if moves.hit[k, m] else 1.0)
                self.size[k, m] = abs(to - last)

    def tone_weights(self, place: Place) -> Floats:
        """The weight of each tone at a place."""
        if place not in self._tones_placed:
            lowest, highest = self.steps[0], self.steps[-1]
            weights = [place_weight(step, place, lowest, highest) for step in self.steps]
            self._tones_placed[place] = np.array(weights)
        return self._tones_placed[place]

    def way_weights(self, place: Place, *, new: bool) -> Floats:
        """The weight of each way on to a note at a place, shape (ways, contexts)."""
        if place not in self._placed:
            sizes = np.array([size_weight(size, place) for size in range(self.size.max() + 1)])
            tones = self.tone_weights(place)[self.moves.tone]
            self._placed[place] = self.base * tones * sizes[self.size]
        weights = self._placed[place]
        return np.where(self.moves.hit, 0.0, weights) if new else weights

    def back(self, after: Floats, shifted: Floats, weights: Floats) -> Floats:
        """One note backward. `after` and `shifted` have shape ([batch,] width, contexts)."""
        flat = (*after.shape[:-2], self.width * self.contexts)
        rows = np.concatenate((after.reshape(flat), shifted.reshape(flat)), axis=-1)
        gathered = rows.take(self.index, axis=-1, mode="clip")
        gathered *= weights[:, None]
        total: Floats = gathered[..., 0, :, :].copy()
        for way in range(1, gathered.shape[-3]):
            total += gathered[..., way, :, :]
        return total

    def fewer(self, after: Floats, hits: int = 1) -> Floats:
        """The message that a hit leads to: so many fewer are still needed."""
        rows = [max(needed - hits, 0) for needed in range(self.width)]
        return after.take(rows, axis=-2)

    def half_only(self, weights: Floats) -> Floats:
        """Weights of ways on that end the first half: onto a tone of V."""
        moves = self.moves
        return np.where(self.halves[moves.tone] & moves.rests[moves.to], weights, 0.0)

    def last_only(self, weights: Floats) -> Floats:
        """Weights of ways on that end the line: from re or ti onto do."""
        return np.where((self.moves.tone == self.end) & self.closes, weights, 0.0)

    def start_weights(self, place: Place) -> list[float]:
        """The weight of each tone to start on, 0 where a line may not."""
        tones = self.tone_weights(place).tolist()
        return [
            tones[t] * start_weight(step) if self.starts[t] else 0.0
            for t, step in enumerate(self.steps)
        ]

    def seam_weights(self, place: Place, *, new: bool) -> Floats:
        """Weights of [last tone of a phrase, first of the next], 0 where no move leads there."""
        moves, size = self.moves, len(self.steps)
        if self._seams is None:
            self._seams = np.array(
                [
                    [
                        seam_weight(a, b) if moves.linked[i][j] or i == j else 0.0
                        for j, b in enumerate(self.steps)
                    ]
                    for i, a in enumerate(self.steps)
                ]
            ).reshape(size, size)
        weights: Floats = self._seams * self.tone_weights(place)
        return weights * ~self.arrives if new else weights

    def back_over_seam(self, after: Floats, seam: Floats) -> Floats:
        """The first note of a phrase backward: a message over the contexts that end the one before.

        A phrase starts with a clean memory, so only the tones on both sides of the seam count.
        """
        shifted = self.fewer(after)
        total = np.zeros((self.width, len(self.steps)), dtype=after.dtype)
        for first in range(len(self.steps)):
            hit = self.arrives[:, first]
            total += seam[:, first] * np.where(hit, shifted[:, [first]], after[:, [first]])
        last: Floats = total[:, self.moves.last]
        return last

    def finish(self) -> Floats:
        """The message after the last note: nothing may still be needed."""
        message: Floats = np.zeros((self.width, self.contexts))
        message[0] = 1.0
        return message
