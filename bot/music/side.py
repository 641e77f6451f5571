"""One part of several: its tones, its table of moves laid flat, the weight of each way on."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from bot.music.exercise import Tone
from bot.music.level import Level
from bot.music.messages import Floats, Messages
from bot.music.slices import Stroke, Struck

Places = NDArray[np.int64]


class Ways(NamedTuple):
    """Ways on of one kind as rows: from context `src` to `to`, from tone `last` to `tone`.

    `hit` says whether a way arrives at the newest element; `k` is its row in the table of moves.
    """

    src: Places
    to: Places
    last: Places
    tone: Places
    hit: Places
    k: Places


class Side:
    """A part at its level within its tones. `hits` is how often it needs the newest element.

    `counts` says whether its newest element counts where parts have it between them. `returning` is
    how welcome it is to go back at once to the tone before, beside what tunes do: sums over chords
    would have lower parts do little else.
    """

    def __init__(
        self,
        level: Level,
        tones: tuple[Tone, ...],
        hits: int,
        *,
        counts: bool = True,
        returning: float = 1.0,
    ) -> None:
        self.level, self.tones, self.hits, self._counts = level, tones, hits, counts
        self.messages = Messages(level, tones, hits)
        self._ways: dict[Stroke, Ways] = {}
        moves = self.messages.moves
        before = np.array([m.before if m.equal == 1 else -1 for m in moves.memories])
        self._returning = np.where(moves.tone == before, returning, 1.0)

    @property
    def contexts(self) -> int:
        """Number of contexts."""
        return int(self.messages.contexts)

    def ways(self, stroke: Stroke) -> Ways:
        """Every way on of a kind."""
        if stroke not in self._ways:
            ways = self._lay_out(stroke)
            hit = ways.hit if self._counts else np.zeros_like(ways.hit)
            self._ways[stroke] = ways._replace(hit=hit)
        return self._ways[stroke]

    def _lay_out(self, stroke: Stroke) -> Ways:
        moves = self.messages.moves
        every = np.arange(self.contexts)
        size = len(self.tones)
        match stroke:
            case Stroke.BEGIN:
                tones = np.arange(size)
                none = np.zeros(size, dtype=np.int64)
                return Ways(none, tones, tones, tones, np.array(moves.first_hit, dtype=int), tones)
            case Stroke.STRIKE:
                k, src = np.nonzero(moves.legal)
                last = moves.last[src]
                return Ways(src, moves.to[k, src], last, moves.tone[k, src], moves.hit[k, src], k)
            case Stroke.SEAM:
                src, tone = (each.ravel() for each in np.meshgrid(every, np.arange(size)))
                last = moves.last[src]
                hit = np.array(moves.arrives, dtype=np.int64)[last, tone]
                return Ways(src, tone, last, tone, hit, tone)
            case Stroke.HOLD | Stroke.REST:
                none = np.zeros(self.contexts, dtype=np.int64)
                return Ways(every, every, moves.last, moves.last, none, none)

    def weights(self, stroke: Stroke, struck: Struck | None) -> Floats:
        """The weight of each way on of a kind to a note, 0 where it may not go there."""
        ways, messages = self.ways(stroke), self.messages
        if struck is None:
            return np.ones(len(ways.src))
        if stroke is Stroke.BEGIN:
            starts = np.array(messages.start_weights())
            return np.where(ways.hit.astype(bool) & struck.new, 0.0, starts)
        if stroke is Stroke.SEAM:
            seams: Floats = messages.seam_weights(struck.place, new=struck.new)[
                ways.last, ways.tone
            ]
            return seams
        table = messages.way_weights(struck.place, new=struck.new)
        if struck.half:
            table = messages.half_only(table)
        if struck.last:
            table = messages.last_only(table)
        rows: Floats = (table * self._returning)[ways.k, ways.src]
        return rows
