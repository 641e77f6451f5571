"""Surprisal by an interpolated n-gram model (Witten and Bell 1991): the judge, not the composer."""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Hashable, Iterable, Iterator

from tests.fit.melody import Melody

Event = tuple[tuple[Hashable, ...], Hashable]  # context, nearest part last; what came


def pitch_events(melody: Melody) -> Iterator[Event]:
    """Each step given the three before it."""
    past: tuple[Hashable, ...] = ("start",) * 3
    for step in melody.steps:
        yield past, step
        past = (*past[1:], step)


def rhythm_events(melody: Melody) -> Iterator[Event]:
    """Time from each note to the next, given the two before it and the place in the measure."""
    starts = [start for start, _, _ in melody.notes] + [melody.length]
    past: tuple[Hashable, ...] = ("start", "start")
    for (_, tick, length, _), start, after in zip(
        melody.places(), starts, starts[1:], strict=False
    ):
        sounding = (length, after - start)
        yield (*past, tick), sounding
        past = (past[-1], sounding)


class NGram:
    """Counts of what came after each context and after each of its endings."""

    def __init__(self, events: Iterable[Event], alphabet: int) -> None:
        self._floor = 1 / alphabet
        self._after: defaultdict[tuple[Hashable, ...], Counter[Hashable]] = defaultdict(Counter)
        for context, came in events:
            for cut in range(len(context) + 1):
                self._after[context[cut:]][came] += 1

    def probability(self, context: tuple[Hashable, ...], came: Hashable) -> float:
        """P(came | context), each order weighed against the shorter one by what it has seen."""
        result = self._floor
        for cut in range(len(context), -1, -1):
            seen = self._after.get(context[cut:])
            if seen is None:
                break
            total, kinds = seen.total(), len(seen)
            result = (seen[came] + kinds * result) / (total + kinds)
        return result

    def bits(self, events: Iterable[Event]) -> list[float]:
        """Surprisal of each event in bits."""
        return [-math.log2(self.probability(context, came)) for context, came in events]


def pitch_judge(melodies: Iterable[Melody]) -> NGram:
    """Trained on the steps of melodies."""
    return NGram((event for melody in melodies for event in pitch_events(melody)), alphabet=25)


def rhythm_judge(melodies: Iterable[Melody], measure: int, beat: int) -> NGram:
    """Trained on the rhythms of the melodies that have this measure."""
    alike = [each for each in melodies if (each.measure, each.beat) == (measure, beat)]
    return NGram((event for melody in alike for event in rhythm_events(melody)), alphabet=40)
