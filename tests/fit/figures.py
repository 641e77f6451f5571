"""What is measured of a set of melodies against held-out tunes: `evaluate` gives every figure."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Hashable, Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from tests.fit import families
from tests.fit.corpus import Corpus, runs, windows
from tests.fit.logistic import told_apart
from tests.fit.melody import WHOLE, Melody
from tests.fit.ngram import Event, NGram, pitch_events, pitch_judge, rhythm_events, rhythm_judge


@dataclass(frozen=True, slots=True, kw_only=True)
class Judges:
    """Surprisal models of the two halves of the test: each judges what the other half holds."""

    pitch: tuple[NGram, NGram]
    rhythm: tuple[NGram, NGram]


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """Held-out melodies to compare with, with their judges; `train` for what must not be copied."""

    left: tuple[Melody, ...]
    right: tuple[Melody, ...]
    train: tuple[Melody, ...]
    judges: Judges
    known: frozenset[tuple[tuple[int, int], ...]]

    @property
    def test(self) -> tuple[Melody, ...]:
        """All held-out melodies."""
        return self.left + self.right


def bench(
    corpus: Corpus,
    measure: int = WHOLE,
    bars: int = 8,
    beat: int = 4,
    keep: Callable[[Melody], bool] = lambda _: True,
) -> Bench:
    """The bench of one length and metre; `keep` says which windows a level could have."""
    left, right, train = (
        tuple(melody for melody in windows(part, measure, bars, beat) if keep(melody))
        for part in (corpus.left, corpus.right, corpus.train)
    )
    judges = Judges(
        pitch=(pitch_judge(corpus.left), pitch_judge(corpus.right)),
        rhythm=(
            rhythm_judge(corpus.left, measure, beat),
            rhythm_judge(corpus.right, measure, beat),
        ),
    )
    known = frozenset(run for melody in corpus.train for run in runs(melody))
    return Bench(left=left, right=right, train=train, judges=judges, known=known)


def distance(one: Iterable[Hashable], other: Iterable[Hashable]) -> float:
    """Jensen-Shannon distance, base 2, of two samples."""
    first, second = Counter(one), Counter(other)
    totals = first.total(), second.total()
    divergence = 0.0
    for key in first.keys() | second.keys():
        p, q = first[key] / totals[0], second[key] / totals[1]
        middle = (p + q) / 2
        divergence += sum(share / 2 * math.log2(share / middle) for share in (p, q) if share)
    return math.sqrt(max(0.0, divergence))


def evaluate(bench: Bench, melodies: Sequence[Melody], *, itself: bool = False) -> dict[str, float]:
    """Every figure of a set of melodies; `itself` for the test's own row (cross-fitted, no AUC)."""
    pitch = _bits(bench, melodies, bench.judges.pitch, pitch_events, itself=itself)
    rhythm = _bits(bench, melodies, bench.judges.rhythm, rhythm_events, itself=itself)
    figures = {
        "notes": float(np.mean([len(melody.notes) for melody in melodies])),
        "bits pitch": pitch,
        "bits rhythm": rhythm,
    }
    figures |= _distances(bench.test, melodies) | _habits(melodies)
    figures["shared 12"] = _mean(any(run in bench.known for run in runs(each)) for each in melodies)
    if not itself:
        figures |= apart(bench, melodies)
    return figures


def apart(bench: Bench, melodies: Sequence[Melody]) -> dict[str, float]:
    """How well each family of features tells the melodies from the test."""
    first = [
        families.table([families.first_family(each) for each in group])
        for group in (bench.test, melodies)
    ]
    half = len(melodies) // 2
    real = [_second(each, bench, 1) for each in bench.left]
    real += [_second(each, bench, 0) for each in bench.right]
    made = [_second(each, bench, int(at < half)) for at, each in enumerate(melodies)]
    seeds = range(3)
    return {
        "AUC": float(np.mean([told_apart(first[0], first[1], seed=seed) for seed in seeds])),
        "AUC2": float(
            np.mean(
                [
                    told_apart(families.table(real), families.table(made), seed=seed)
                    for seed in seeds
                ]
            )
        ),
    }


def _second(melody: Melody, bench: Bench, judge: int) -> list[float]:
    judges = bench.judges
    return families.second_family(melody, judges.pitch[judge], judges.rhythm[judge])


def _mean(values: Iterable[float]) -> float:
    listed = list(values)
    return float(np.mean(listed)) if listed else 0.0


def _bits(
    bench: Bench,
    melodies: Sequence[Melody],
    judges: tuple[NGram, NGram],
    events: Callable[[Melody], Iterable[Event]],
    *,
    itself: bool,
) -> float:
    if itself:
        pairs = [(judges[1], bench.left), (judges[0], bench.right)]
    else:
        pairs = [(judges[0], melodies), (judges[1], melodies)]
    return _mean(
        bit for judge, group in pairs for each in group for bit in judge.bits(events(each))
    )


def _distances(test: Sequence[Melody], melodies: Sequence[Melody]) -> dict[str, float]:
    def of(kind: Callable[[Melody], Iterable[Hashable]]) -> float:
        return distance(
            (value for each in test for value in kind(each)),
            (value for each in melodies for value in kind(each)),
        )

    return {
        "JS interval": of(families.intervals),
        "JS degree": of(lambda each: each.steps),
        "JS degree x metre": of(
            lambda each: [(step, min(2, tick % 8 and (1 if tick % 4 == 0 else 2)), tick == 0)
                          for _, tick, _, step in each.places()]
        ),
        "JS bar rhythm": of(families.bar_rhythms),
    }  # fmt: skip


def _habits(melodies: Sequence[Melody]) -> dict[str, float]:
    leaps = [families.leaps(each) for each in melodies]
    return {
        "unrecovered": sum(owed for _, owed in leaps) / max(1, sum(count for count, _ in leaps)),
        "runs of 4": _mean(families.longest_run(each) >= 4 for each in melodies),
        "tops": _mean(each.steps.count(max(each.steps)) > 1 for each in melodies),
        "rhBar": _mean(families.earlier(families.bar_rhythms(each)) for each in melodies),
        "exBar": _mean(families.earlier(each.bars()) for each in melodies),
        "g3": _mean(families.echo(each) for each in melodies),
        "tritones": _mean(_tritones(each) for each in melodies),
        "ti left": _ti_left(melodies),
    }


def _tritones(melody: Melody) -> int:
    """Moves between fa and ti either way."""
    return sum(
        (low % 7 == 3 and high - low == 3) or (low % 7 == 6 and high - low == 4)
        for low, high in map(sorted, pairwise(melody.steps))
    )


def _ti_left(melodies: Sequence[Melody]) -> float:
    left = [
        abs(after - before) > 1
        for melody in melodies
        for before, after in pairwise(melody.steps)
        if before % 7 == 6 and after != before
    ]
    return _mean(left)
