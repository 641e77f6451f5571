"""Backward messages: the weight of every way to finish a line from each context.

A message is an array over (hits still needed, contexts), after a batch where there is one; one
gather reads a whole step. Sums run over the ways on in a fixed order, with plain additions and
products, so that the same numbers come out on every machine.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from bot.music.climax import OneTop, Table
from bot.music.exercise import Tone
from bot.music.habits import AFTER_QUICK, NEW, ON_QUICK, Place
from bot.music.level import Level
from bot.music.line_model import LineModel
from bot.music.moves import Moves
from bot.music.sequence import Interval

Floats = NDArray[np.float64]
Beginning = int | tuple[int, int]  # the label of a first tone, with a mark where it has one


def line_model(level: Level, tones: tuple[Tone, ...]) -> LineModel:
    """The moves of one level within a range, with their weights."""
    rules = level.rules
    moves = Moves(
        tones,
        level.skips,
        rules.equal_notes,
        level.pitch_focus,
        tonic=level.mode.tonic_step,
        free_leaps=rules.free_leaps,
        both_ways=level.both_ways,
    )
    return LineModel(moves)


_TWICE = 2  # what a hit counts where its note comes back in a copy


class Messages:
    """The melodic side of one level within a range: tables, weights, steps backward.

    `hits` is how often the newest element is needed; a message has a row for each of 0 to `hits`.
    Lines that sing their top tone once have one of `tops`, places in the list of tones; without
    these any line is right. `model` is what `line_model` makes, if there is one.
    """

    def __init__(
        self,
        level: Level,
        tones: tuple[Tone, ...],
        hits: int,
        *,
        tops: tuple[int, ...] | None = None,
        model: LineModel | None = None,
    ) -> None:
        self._model = model or line_model(level, tones)
        plain = self._model.moves
        self.moves: Table = plain if tops is None else OneTop(plain, tops)
        self.both_ways = level.both_ways
        self.hits = hits
        self.width = hits + 1
        self.steps = [tone.step for tone in tones]
        conditions = level.conditions
        self.starts = [
            tone in conditions.start and (tone == conditions.end or not level.both_ways)
            for tone in tones
        ]
        self.halves = np.array([tone in conditions.half_cadence for tone in tones])
        self.end = tones.index(conditions.end) if conditions.end in tones else -1
        self.cadence = np.array([tone in conditions.cadence for tone in tones])
        self.closes = self.cadence[self.moves.last]
        self._lay_out()
        self.arrives = np.array(self.moves.arrives)
        self._gentle = self._gentle_ways(level.rules.from_sixteenths)
        self._forbids = AFTER_QUICK | ON_QUICK * level.both_ways
        self._newer = np.where(self.moves.hit, NEW, 1.0)
        self._known: dict[tuple[Place, bool], Floats] = {}
        self._known_seams: dict[tuple[Place, bool, bool], Floats] = {}
        starting = np.where(self.starts, self._model.start_weights(), 0.0)
        self._starting: list[float] = starting.tolist()

    def _lay_out(self) -> None:
        """Where in a row each way on reads its message: a plain one in front, a hit behind."""
        moves, width = self.moves, self.width
        self.contexts = moves.to.shape[1]
        self._fewer = [np.maximum(np.arange(width) - hits, 0) for hits in range(_TWICE + 1)]
        self._index = moves.to + moves.hit * self.contexts

    def _gentle_ways(self, widest: Interval | None) -> NDArray[np.bool_] | None:
        """Which ways on a line may take from a sixteenth; None where none is forbidden."""
        if widest is None:
            return None
        steps, moves = np.array(self.steps), self.moves
        gentle: NDArray[np.bool_] = np.abs(steps[moves.tone] - steps[moves.last]) <= widest.steps
        return gentle

    def way_weights(self, place: Place, *, new: bool) -> Floats:
        """The weight of each way on to a note at a place, shape (ways, contexts)."""
        known = self._known.get((place, new))
        if known is None:
            plain = self._model.way_weights(place._replace(quick=0))
            weights = self.after_quick(self.moves.lifted(plain, place) * self._newer, place.quick)
            known = np.where(self.moves.hit, 0.0, weights) if new else weights
            self._known[place, new] = known
        return known

    def after_quick(self, weights: Floats, quick: int) -> Floats:
        """Weights of ways on, without the wide ones from a sixteenth; `quick` as a place has it.

        Where lines go both ways there are none onto a sixteenth either.
        """
        if self._gentle is None or not quick & self._forbids:
            return weights
        return np.where(self._gentle, weights, 0.0)

    def come_back(self, weights: Floats, *, second: bool, after_new: bool) -> Floats:
        """Weights of ways on that may be gone from the last note to the first too.

        The `second` note of a line is then the one before the last. Where the note before is one of
        the newest rhythm, the newest move must not lead back onto it.
        """
        if not self.both_ways:
            return weights
        moves = self.moves
        if second:
            weights = np.where(self.cadence[moves.tone], weights, 0.0)
        return np.where(moves.hit_back, 0.0, weights) if after_new else weights

    def back(self, after: Floats, shifted: Floats, weights: Floats) -> Floats:
        """One note backward. `after` and `shifted` have shape ([batch,] width, contexts)."""
        return self.back_row(self.row(after, shifted), weights)

    def row(self, after: Floats, shifted: Floats) -> Floats:
        """What ways on lead to, side by side: the plain ones' message, then the one after a hit."""
        return np.concatenate((after, shifted), axis=-1)

    def back_row(self, row: Floats, weights: Floats) -> Floats:
        """One note backward from such a row."""
        gathered = row.take(self._index, axis=-1, mode="clip")
        gathered *= weights
        total: Floats = gathered.sum(axis=-2)  # adds the ways one after the other
        return total

    def masses(self, row: Floats, weights: Floats, context: int, count: int) -> list[float]:
        """The weight of everything behind each way on from one context, by the same row."""
        behind = row[count].take(self._index[:, context]) * weights[:, context]
        masses: list[float] = behind.tolist()
        return masses

    def fewer(self, after: Floats, hits: int = 1) -> Floats:
        """The message that a hit leads to: so many fewer are still needed, two at most."""
        return after.take(self._fewer[hits], axis=-2)

    def half_only(self, weights: Floats) -> Floats:
        """Weights of ways on that end the first half: onto a tone of V."""
        moves = self.moves
        return np.where(self.halves[moves.tone] & moves.rests[moves.to], weights, 0.0)

    def last_only(self, weights: Floats, *, new: bool = False) -> Floats:
        """Weights of ways on that end the line: from re or ti onto do, no tritone from a turn.

        Where lines go both ways the last note is a first one, and no newest tone if it is `new`.
        """
        moves = self.moves
        if new and self.both_ways and self.end >= 0 and moves.first_hit[self.end]:
            return np.zeros_like(weights)
        ends = (moves.tone == self.end) & self.closes & moves.rests[moves.to]
        return np.where(ends, weights, 0.0)

    def openings(self) -> list[tuple[Beginning, int, int]]:
        """Every way to begin a line: its label, its tone, the context that it leads to."""
        return [
            (_beginning(tone, way.mark), tone, context)
            for way in self.moves.openings
            for tone, context in enumerate(way.fresh)
            if context >= 0 and self.starts[tone]
        ]

    def beginning_of(self, line: Sequence[int]) -> Beginning:
        """The label with which a line begins."""
        return _beginning(line[0], self.moves.mark(line))

    def start_weights(self) -> list[float]:
        """The weight of each tone to start on, 0 where a line may not."""
        return self._starting

    def seam_weights(self, place: Place, *, new: bool, after_new: bool = False) -> Floats:
        """Weights of [last tone of a phrase, first of the next], 0 where no move leads there."""
        known = self._known_seams.get((place, new, after_new))
        if known is None:
            legal = self.seams(new=new, after_new=after_new)
            known = np.where(legal, self._model.seam_weights(place), 0.0)
            self._known_seams[place, new, after_new] = known
        return known

    def seams(self, *, new: bool, after_new: bool = False) -> NDArray[np.bool_]:
        """[last, first]: whether a phrase may begin with a tone after the end of the one before."""
        legal: NDArray[np.bool_] = np.array(self.moves.linked) | np.eye(
            len(self.steps), dtype=np.bool_
        )
        if new:
            legal = legal & ~self.arrives
        if self.both_ways:
            legal = legal & self.halves
            legal = legal & ~self.arrives.T if after_new else legal
        return legal

    def back_over_seam(self, after: Floats, seam: Floats) -> Floats:
        """The first note of a phrase backward: a message over the contexts that end the one before.

        A phrase starts with a clean memory, so only the tones on both sides of the seam count, and
        the block in which the one before ends.
        """
        shifted, fresh = self.fewer(after), self.moves.fresh
        total = np.zeros((self.width, len(fresh), len(self.steps)), dtype=after.dtype)
        for first in range(len(self.steps)):
            begins, hit = fresh[:, first, None], self.arrives[:, first]
            behind = np.where(hit, shifted[:, begins], after[:, begins])
            total += np.where(begins >= 0, seam[:, first] * behind, 0)
        last: Floats = total[:, self.moves.block, self.moves.last]
        return last

    def finish(self) -> Floats:
        """The message after the last note: nothing may still be needed."""
        message: Floats = np.zeros((self.width, self.contexts))
        message[0] = self.moves.done
        return message


def _beginning(tone: int, mark: int | None) -> Beginning:
    return tone if mark is None else (tone, mark)
