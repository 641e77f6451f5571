"""The tones over one rhythm as a chain of choices whose weights are known exactly.

A chain has a root; `choices` of a state gives each label with the weight of all lines behind it
and the next state; a state without choices is a finished line. `FreeLines` choose every tone,
`CopiedLines` sing the first measures of the second phrase as those of the first. Both sum over
lines exactly, so a walk from the root that follows the weights draws a line with its exact
probability.
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from math import fsum
from typing import Protocol, cast

from bot.music.messages import Floats, Messages
from bot.music.skeleton import Skeleton
from bot.music.stretch import StillNeeded, Stretch

Label = Hashable
State = tuple[object, ...]
Choice = tuple[Label, float, State]  # a label, the weight behind it, the state it leads to


class Lines(Protocol):
    """All lines of tones over one rhythm with their weights."""

    @property
    def total(self) -> float:
        """The weight of all lines; 0 where there is none."""
        ...

    @property
    def root(self) -> State:
        """The state before the first choice."""
        ...

    def choices(self, state: State) -> Sequence[Choice]:
        """What can be chosen; empty at the end of a line."""
        ...

    def tones(self, labels: Sequence[Label]) -> tuple[int, ...]:
        """The tones of a finished line, as places in the table's list."""
        ...

    def labels(self, tones: Sequence[int]) -> tuple[Label, ...] | None:
        """The choices that give these tones, None where no line has them in this shape."""
        ...


# A named tuple from its fields in order, in a third of the time that a call takes: every way on in
# a line makes a state.
make = tuple.__new__

FreeState = tuple[int, int, int]  # before which note, in which context, how many hits still needed


class FreeLines:
    """Every line over a rhythm; a label is a tone, the first one with its mark if it has one."""

    def __init__(self, messages: Messages, skeleton: Skeleton) -> None:
        self._messages, self._skeleton = messages, skeleton
        counting = StillNeeded(messages)
        last = skeleton.notes - 1
        ends = skeleton.phrase_ends
        self._seam = ends[0] if len(ends) > 1 else 0
        self._last = Stretch(messages, skeleton, self._seam + 1, last, messages.finish(), counting)
        self._first = self._last
        if self._seam:
            place, seam = skeleton.places[self._seam], self._seam
            self._seam_weights: Floats = messages.seam_weights(
                place, new=skeleton.new[seam], after_new=skeleton.new[seam - 1]
            )
            over = messages.back_over_seam(self._last.start, self._seam_weights)
            self._first = Stretch(messages, skeleton, 1, self._seam - 1, over, counting)
        self._known: dict[State, list[Choice]] = {}
        self.root: State = (0, -1, messages.hits)
        self.total = fsum(mass for _, mass, _ in self.choices(self.root))

    def choices(self, state: State) -> list[Choice]:
        """The tones that may come, each with the weight of all lines behind it."""
        known = self._known.get(state)
        if known is None:
            known = self._known[state] = self._choices(cast("FreeState", state))
        return known

    def _choices(self, state: FreeState) -> list[Choice]:
        note, context, needed = state
        if note == self._skeleton.notes:
            return []
        if note == 0:
            return self._starts()
        if note == self._seam:
            return self._over_seam(state)
        stretch = self._first if note < self._seam else self._last
        return [
            (tone, mass, (note + 1, after, left))
            for tone, mass, after, left in stretch.ways(note, context, needed)
        ]

    def _starts(self) -> list[Choice]:
        messages, skeleton = self._messages, self._skeleton
        weights = messages.start_weights()
        found: list[Choice] = []
        for label, tone, context in messages.openings():
            hit = messages.moves.first_hit[tone]
            needed = max(messages.hits - hit, 0)
            mass = weights[tone] * float(self._first.start[needed, context])
            if mass > 0.0 and not (hit and skeleton.new[0]):
                found.append((label, mass, (1, context, needed)))
        return found

    def _over_seam(self, state: FreeState) -> list[Choice]:
        moves, (note, before, hits) = self._messages.moves, state
        last, fresh = int(moves.last[before]), moves.fresh[moves.block[before]]
        found: list[Choice] = []
        for tone, weight in enumerate(self._seam_weights[last].tolist()):
            needed, context = max(hits - moves.arrives[last][tone], 0), int(fresh[tone])
            mass = weight * float(self._last.start[needed, context]) if context >= 0 else 0.0
            if mass > 0.0:
                found.append((tone, mass, (note + 1, context, needed)))
        return found

    def tones(self, labels: Sequence[Label]) -> tuple[int, ...]:
        """The tones of the labels."""
        return tuple(tone for label in labels if (tone := tone_in(label)) is not None)

    def labels(self, tones: Sequence[int]) -> tuple[Label, ...] | None:
        """The tones themselves, if they make a line of this level."""
        labels = (self._messages.beginning_of(tones), *tones[1:])
        return labels if leads_through(self, labels) else None


def tone_in(label: Label) -> int | None:
    """The tone that a label chooses, as a place in the table's list; None where it chooses none."""
    tone = label[0] if isinstance(label, tuple) else label
    return tone if isinstance(tone, int) else None


def leads_through(lines: Lines, labels: Sequence[Label]) -> bool:
    """Whether these labels, one after the other, can be chosen and finish a line."""
    state = lines.root
    for label in labels:
        ways = [after for other, _, after in lines.choices(state) if other == label]
        if not ways:
            return False
        state = ways[0]
    return not lines.choices(state)
