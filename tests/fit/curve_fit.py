"""Fit what a place in the line speaks for: the curve of its phrases, their last and first tones."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence

import numpy as np
from scipy.optimize import minimize

from tests.fit.logistic import Floats
from tests.fit.melody import Melody
from tests.fit.pitch_fit import STEPS, chances, size, strength

_MIDDLE = 2  # mi, the middle of low so to high do
_RIDGE = 5.0


def traits() -> Floats:
    """Height, its square and being do, of each tone: (traits, tones)."""
    high = (np.array(STEPS) - _MIDDLE) / 4
    return np.array([high, high**2, np.array(STEPS) % 7 == 0], dtype=np.float64)


def _events(
    melodies: Iterable[Melody], scores: Floats
) -> tuple[list[Floats], list[int], list[int]]:
    """Scores of every way on, the one taken, the measure; without the last note, which is given."""
    rows, taken, bars = [], [], []
    for melody in melodies:
        before, last = len(STEPS), melody.steps[0] - STEPS[0]
        for bar, tick, length, step in list(melody.places())[1:-1]:
            to = step - STEPS[0]
            rows.append(scores[strength(tick, melody), size(length, melody.beat), before, last])
            taken.append(to)
            bars.append(bar)
            before, last = (last if to != last else before), to
    return rows, taken, bars


def fit_curve(windows: Sequence[Melody], line: Mapping[str, float], bars: int) -> Floats:
    """(rise, bend, home) for each measure, two decimals; windows keep within STEPS."""
    rows, taken, where = _events(windows, np.log(chances(line)))
    scores, chosen, bar = np.array(rows), np.array(taken), np.array(where)
    design = traits()
    hot = np.eye(len(STEPS))[chosen]

    def loss(flat: Floats) -> tuple[float, Floats]:
        weights = flat.reshape(bars, -1)
        full = scores + weights[bar] @ design
        full -= full.max(axis=1, keepdims=True)
        norm = np.exp(full).sum(axis=1, keepdims=True)
        likely = float((full - np.log(norm))[hot > 0].sum())
        owed = hot - np.exp(full) / norm
        slope = np.array([(owed[bar == each] @ design.T).sum(axis=0) for each in range(bars)])
        return _RIDGE / 2 * float(flat @ flat) - likely, _RIDGE * flat - slope.ravel()

    found = minimize(loss, np.zeros(bars * len(design)), jac=True, method="L-BFGS-B")
    curve: Floats = np.round(found.x.reshape(bars, -1), 2)
    return curve


def fit_last(windows: Sequence[Melody], line: Mapping[str, float], curve: Floats) -> list[float]:
    """For each degree, how much likelier than elsewhere it ends the fourth of eight measures."""
    scores, design = np.log(chances(line)), traits()
    seen, expected = np.zeros(7), np.zeros(7)
    for melody in windows:
        rows, taken, bars = _events([melody], scores)
        ends = [at for at, bar in enumerate(bars) if bar == 3]
        if not ends:
            continue
        full = np.exp(rows[ends[-1]] + curve[3] @ design)
        np.add.at(expected, np.array(STEPS) % 7, full / full.sum())
        seen[STEPS[taken[ends[-1]]] % 7] += 1
    return [round(float(each), 2) for each in np.log((seen + 2) / (expected + 2))]


def fit_start(windows: Sequence[Melody]) -> dict[int, float]:
    """The logarithm of how often a melody starts on each step of the compass."""
    seen = Counter(melody.steps[0] for melody in windows)
    return {step: round(float(np.log((seen[step] + 1) / len(windows))), 2) for step in range(-3, 8)}
