"""Two families of features by which a classifier tries to tell made melodies from sung ones."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from tests.fit.logistic import Floats
from tests.fit.melody import Melody
from tests.fit.ngram import NGram, pitch_events, rhythm_events

TRIAD = (0, 2, 4)
_LENGTHS = (1, 2, 3, 4, 6, 8, 12, 16)


def intervals(melody: Melody) -> list[int]:
    """Scale steps between neighbouring notes."""
    steps = melody.steps
    return [after - before for before, after in pairwise(steps)]


def bar_rhythms(melody: Melody) -> list[tuple[tuple[int, int], ...]]:
    """Each measure as (tick, length) pairs."""
    return [tuple((tick, length) for tick, length, _ in bar) for bar in melody.bars()]


def earlier(rows: Sequence[object]) -> float:
    """Share of rows that stand earlier in the sequence too."""
    return sum(row in rows[:at] for at, row in enumerate(rows)) / max(1, len(rows))


def echo(melody: Melody) -> float:
    """Share of groups of three intervals that came before."""
    moves = intervals(melody)
    return earlier([tuple(moves[at : at + 3]) for at in range(len(moves) - 2)])


def leaps(melody: Melody) -> tuple[int, int]:
    """Leaps of a fourth or more, and those not answered by a step or third the other way."""
    steps = melody.steps
    count = owed = 0
    for at in range(len(steps) - 1):
        size = steps[at + 1] - steps[at]
        if abs(size) < 3:
            continue
        count += 1
        after = next((step for step in steps[at + 2 :] if step != steps[at + 1]), None)
        answer = 0 if after is None else (after - steps[at + 1]) * (-1 if size > 0 else 1)
        owed += answer not in (1, 2)
    return count, owed


def longest_run(melody: Melody) -> int:
    """Most equal notes in a row."""
    best = now = 1
    for move in intervals(melody):
        now = now + 1 if move == 0 else 1
        best = max(best, now)
    return best


def _share(values: Sequence[bool]) -> float:
    return sum(values) / len(values) if values else 0.0


def first_family(melody: Melody) -> list[float]:
    """Forty-seven plain facts: size, motion, degrees, metre, rhythm, form, cadences."""
    steps, moves, bars = melody.steps, intervals(melody), melody.bars()
    places = list(melody.places())
    rhythms = bar_rhythms(melody)
    top = max(steps)
    count, owed = leaps(melody)
    sizes = [abs(move) for move in moves]
    strong = [step for _, tick, _, step in places if tick == 0]
    weak = [step for _, tick, _, step in places if tick % 4]
    lengths = [length for _, _, length, _ in places]
    row = [len(steps), float(np.mean(steps)), float(np.std(steps)), top - min(steps), top]
    row += [_share([size == each for size in sizes]) for each in (0, 1, 2, 3, 4)]
    row += [_share([size > 4 for size in sizes]), _share([move > 0 for move in moves])]
    row += [_share([step % 7 == degree for step in steps]) for degree in range(1, 7)]
    row += [_share([step % 7 in TRIAD for step in group]) for group in (strong, weak)]
    row += [_share([length == each for length in lengths]) for each in (1, 2, 3, 4, 6, 8)]
    row += [_share([length > 8 for length in lengths]), float(steps.count(top))]
    row += [earlier(bars), earlier(rhythms), echo(melody), owed / max(1, count), count]
    row += [longest_run(melody), turns(moves), _share([a == b for a, b in _pairs(moves)])]
    half = len(bars) // 2
    row += [float(bars[half] == bars[0]), float(rhythms[half] == rhythms[0])]
    row += [float(rhythms[1] == rhythms[0]), float(rhythms[2] == rhythms[0])]
    row += [bars[half - 1][-1][1] if bars[half - 1] else 0, bars[-1][-1][1] if bars[-1] else 0]
    row += [float(len(bars[half - 1])), float(len(bars[-1])), float(steps[0] % 7 == 0)]
    row += [float(np.mean([step for _, _, step in bar]) if bar else 0) for bar in _edges(bars)]
    return [float(value) for value in row]


def _pairs(row: Sequence[int]) -> list[tuple[int, int]]:
    return list(pairwise(row))


def _edges(
    bars: Sequence[tuple[tuple[int, int, int], ...]],
) -> list[tuple[tuple[int, int, int], ...]]:
    return [bars[0], bars[len(bars) // 2]]


def turns(moves: Sequence[int]) -> float:
    """Share of neighbouring intervals that go opposite ways."""
    return _share([before * after < 0 for before, after in _pairs(moves)])


def second_family(melody: Melody, pitch: NGram, rhythm: NGram) -> list[float]:
    """Pairs of intervals and of lengths, time on each degree, and the course of surprisal."""
    moves = [max(-3, min(3, move)) for move in intervals(melody)]
    pairs = Counter(_pairs(moves))
    row = [pairs[(a, b)] / max(1, len(moves) - 1) for a in range(-3, 4) for b in range(-3, 4)]
    lengths = [
        min(range(8), key=lambda at: abs(_LENGTHS[at] - long)) for _, long, _ in melody.notes
    ]
    kinds = Counter(_pairs([min(6, kind) for kind in lengths]))
    row += [kinds[(a, b)] / max(1, len(lengths) - 1) for a in range(1, 7) for b in range(1, 7)]
    whole = sum(long for _, long, _ in melody.notes)
    held = Counter[int]()
    for _, long, step in melody.notes:
        held[step] += long
    row += [held[step] / whole for step in range(-3, 8)]
    return (
        row
        + _course(melody, pitch.bits(pitch_events(melody)))
        + _course(melody, rhythm.bits(rhythm_events(melody)))
    )


def _course(melody: Melody, bits: list[float]) -> list[float]:
    """Mean surprisal of each eighth of the melody, its mean and its spread."""
    rows: list[list[float]] = [[] for _ in range(8)]
    for (start, _, _), value in zip(melody.notes, bits, strict=True):
        rows[min(7, start * 8 // melody.length)].append(value)
    return [float(np.mean(row)) if row else 0.0 for row in rows] + [float(np.std(bits))]


def table(rows: Sequence[Sequence[float]]) -> Floats:
    """Rows of features as an array (melodies x features)."""
    return np.array(rows, dtype=np.float64)
