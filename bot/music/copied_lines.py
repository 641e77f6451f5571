"""Lines whose second phrase begins as the first did, note for note: ABAC.

The copied notes (the motif) touch the rest of the line in two things only: the tone they start on
and the context in which they end, which is the same both times because a phrase starts with a clean
memory. Given these two, the stretches between are independent, so the sum over all lines stays
exact. The newest element counts twice within the motif; how often it comes between the motif and
its return is a choice of its own, and so is the way round the return where there are several: a top
tone that is sung once is none of the motif, but comes before its return or after it.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import fsum
from typing import NamedTuple

import numpy as np

from bot.music.lines import Choice, Label, State, leads_through, make, tone_in
from bot.music.messages import Floats, Messages
from bot.music.moves import Round
from bot.music.skeleton import Skeleton
from bot.music.stretch import StillNeeded, StillToCome, Stretch


class MotifState(NamedTuple):
    """Before a note of the motif that started on the `first`-th possible tone."""

    note: int
    first: int
    context: int
    needed: int


class BetweenState(NamedTuple):
    """Before a note between motif and return; `hits` come until the motif has returned."""

    note: int
    first: int
    tail: int  # the context in which the line goes on when the motif has returned
    needed: int  # when the motif ended
    come: int  # from then until the return
    context: int
    hits: int


class TailState(NamedTuple):
    """Before a note after the return."""

    note: int
    context: int
    needed: int


class CopiedLines:
    """Every such line over a rhythm. The motif is weighed where it stands first."""

    def __init__(self, messages: Messages, skeleton: Skeleton) -> None:
        self._messages, self._skeleton = messages, skeleton
        motif, seam = skeleton.copied, skeleton.phrase_ends[0]
        self._motif, self._seam = motif, seam
        self._starts = [t for t, may in enumerate(messages.starts) if may]
        needed, last = StillNeeded(messages), skeleton.notes - 1
        self._tail = Stretch(messages, skeleton, seam + motif, last, messages.finish(), needed)
        self._between = Stretch(
            messages, skeleton, motif, seam - 1, self._returns(), StillToCome(messages)
        )
        rounds = messages.moves.rounds
        behind = _joined(self._between.start, self._tail.start, rounds) * messages.moves.copies
        twice = StillNeeded(messages, hits=2)
        self._opening = Stretch(messages, skeleton, 1, motif - 1, behind, twice)
        self._known: dict[State, list[Choice]] = {}
        self.root = MotifState(0, -1, -1, messages.hits)
        self.total = fsum(mass for _, mass, _ in self.choices(self.root))

    def _returns(self) -> Floats:
        """The message before the motif returns, one of a batch for each tone it may start on."""
        messages, seam = self._messages, self._seam
        place, new = self._skeleton.places[seam], self._skeleton.new[seam]
        weights = messages.seam_weights(place, new=new)
        message = np.zeros((len(self._starts), messages.width, messages.contexts))
        for column, tone in enumerate(self._starts):
            hits = messages.arrives[messages.moves.last, tone].astype(np.int64)
            hits = np.minimum(hits, messages.hits)
            rows, moves = np.arange(messages.contexts), messages.moves
            message[column, hits, rows] = weights[moves.last, tone] * moves.done
        return message

    def choices(self, state: State) -> list[Choice]:
        """What may come, each with its weight up to a factor of the state."""
        known = self._known.get(state)
        if known is None:
            known = self._known[state] = self._choices(state)
        return known

    def _choices(self, state: State) -> list[Choice]:
        match state:
            case TailState():
                return self._in_tail(state)
            case BetweenState():
                return self._in_between(state)
            case MotifState(note=0):
                return self._first_tones()
            case MotifState() if state.note < self._motif:
                ways = self._opening.ways(state.note, state.context, state.needed, state.first)
                return [
                    (tone, mass, make(MotifState, (state.note + 1, state.first, context, needed)))
                    for tone, mass, context, needed in ways
                ]
            case MotifState():
                return self._how_many_between(state)
        raise AssertionError(state)

    def _first_tones(self) -> list[Choice]:
        messages, skeleton = self._messages, self._skeleton
        weights = messages.start_weights()
        found: list[Choice] = []
        for label, tone, context in messages.openings():
            hit, column = messages.moves.first_hit[tone], self._starts.index(tone)
            needed = max(messages.hits - hit, 0)
            mass = weights[tone] * float(self._opening.start[column, needed, context])
            if mass > 0.0 and not (hit and skeleton.new[0]):
                found.append((label, mass, MotifState(1, column, context, needed)))
        return found

    def _how_many_between(self, state: MotifState) -> list[Choice]:
        found: list[Choice] = []
        needed = state.needed
        for number, way in enumerate(self._messages.moves.rounds):
            begin, tail = int(way.between[state.context]), int(way.tail[state.context])
            for come in range(self._messages.width):
                left = max(needed - come, 0)
                between = float(self._between.start[state.first, come, begin])
                mass = between * float(self._tail.start[left, tail])
                if mass > 0.0:
                    after = BetweenState(self._motif, state.first, tail, needed, come, begin, come)
                    found.append((("to come", come, number), mass, after))
        return found

    def _in_between(self, state: BetweenState) -> list[Choice]:
        found: list[Choice] = []
        ways = self._between.ways(state.note, state.context, state.hits, state.first)
        back = TailState(self._seam + self._motif, state.tail, max(state.needed - state.come, 0))
        returns, same = state.note + 1 == self._seam, (state.note + 1, *state[1:5])
        for tone, mass, context, hits in ways:
            after: State = back if returns else make(BetweenState, (*same, context, hits))
            found.append(((tone, hits), mass, after))
        return found

    def _in_tail(self, state: TailState) -> list[Choice]:
        if state.note == self._skeleton.notes:
            return []
        return [
            (tone, mass, make(TailState, (state.note + 1, context, needed)))
            for tone, mass, context, needed in self._tail.ways(
                state.note, state.context, state.needed
            )
        ]

    def tones(self, labels: Sequence[Label]) -> tuple[int, ...]:
        """The tones of a finished line, the motif both times."""
        chosen = (tone_in(label) for label in labels)
        sung = [tone for tone in chosen if tone is not None]
        return (*sung[: self._seam], *sung[: self._motif], *sung[self._seam :])

    def labels(self, tones: Sequence[int]) -> tuple[Label, ...] | None:
        """The choices that give these tones, None where the motif does not return."""
        motif, seam = self._motif, self._seam
        if len(tones) != self._skeleton.notes or tones[seam : seam + motif] != tones[:motif]:
            return None
        arrives, most = self._messages.moves.arrives, self._messages.hits

        def come(note: int) -> int:
            hits = sum(arrives[tones[j - 1]][tones[j]] for j in range(note, seam + 1))
            return min(hits, most)

        between = [(tones[j], come(j + 1)) for j in range(motif, seam)]
        number = self._messages.moves.round_of(tones, tones[motif:seam])
        labels = (
            self._messages.beginning_of(tones),
            *tones[1:motif],
            ("to come", come(motif), number),
            *between,
            *tones[seam + motif :],
        )
        return labels if leads_through(self, labels) else None


def _joined(between: Floats, tail: Floats, rounds: Sequence[Round]) -> Floats:
    """What lies behind the motif: the way to its return times the way from its end to the close."""
    width = len(tail)
    total: Floats = np.zeros(between.shape)
    for way in rounds:
        before, after = between[..., way.between], tail[..., way.tail]
        for needed in range(width):
            for come in range(width):
                total[:, needed] += before[:, come] * after[max(needed - come, 0)]
    return total
