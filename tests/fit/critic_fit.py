"""Fit the critic: numbers by which a choice among drawn lines has the facts of tunes on the mean.

The choice is as the composer makes it: one of a group, by the exponential of the score. A group is
finite, so the numbers that bring its choices to where tunes are differ from those of a plain
density ratio; here they are found for groups of the very size that is drawn.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

import numpy as np
from scipy.optimize import minimize

from bot.music.line_facts import Heard, facts, rhythm_facts
from tests.fit.families import table
from tests.fit.logistic import Floats
from tests.fit.melody import Melody

_RHYTHM_RIDGE, _RIDGE = 0.2, 0.5
_LEAST_SPREAD = 1e-3
Facts = Callable[[Sequence[Heard], int], dict[str, float]]


def facts_of(melody: Melody, kind: Facts = facts) -> dict[str, float]:
    """What the critic notices of a melody."""
    beat = melody.beat
    line = [
        Heard(measure, tick / beat, length / beat, step)
        for measure, tick, length, step in melody.places()
    ]
    return kind(line, (melody.length - melody.pickup) // melody.measure)


def fit_choice(groups: Floats, real: Floats, ridge: float) -> Floats:
    """Numbers (facts) by which choices among groups (groups, candidates, facts) average `real`.

    Held near 0 by a ridge; facts have spread 1.
    """

    def loss(weights: Floats) -> tuple[float, Floats]:
        scores = groups @ weights
        top = scores.max(axis=1, keepdims=True)
        raised = np.exp(scores - top)
        whole = raised.sum(axis=1, keepdims=True)
        chosen = np.einsum("gk,gkf->f", raised / whole, groups) / len(groups)
        free = float((np.log(whole) + top).mean() - weights @ real)
        value = free + ridge / 2 * float(weights @ weights)
        return value, chosen - real + ridge * weights

    start = np.zeros(groups.shape[2])
    found: Floats = minimize(loss, start, jac=True, method="L-BFGS-B",
                             options={"maxiter": 300}).x  # fmt: skip
    return found


def _fit(
    real: Sequence[Melody], groups: Sequence[Sequence[Melody]], kind: Facts, ridge: float
) -> dict[str, float]:
    names = tuple(facts_of(real[0], kind))

    def rows(melodies: Sequence[Melody]) -> Floats:
        found = [facts_of(each, kind) for each in melodies]
        return table([[each[name] for name in names] for each in found])

    drawn = np.stack([rows(group) for group in groups])
    flat = drawn.reshape(-1, len(names))
    middle, spread = flat.mean(axis=0), np.maximum(flat.std(axis=0), _LEAST_SPREAD)
    aim = ((rows(real) - middle) / spread).mean(axis=0)
    weights = fit_choice((drawn - middle) / spread, aim, ridge) / spread
    return dict(zip(names, weights.tolist(), strict=True))


def fit_rhythm_critic(
    real: Sequence[Melody], groups: Sequence[Sequence[Melody]]
) -> dict[str, float]:
    """A number for each fact about the rhythm alone, from groups of rhythms."""
    return _short(_fit(real, groups, rhythm_facts, _RHYTHM_RIDGE))


def fit_critic(
    real: Sequence[Melody], groups: Sequence[Sequence[Melody]], rhythm: Mapping[str, float]
) -> dict[str, float]:
    """A number for each fact; the higher the sum, the more like a tune.

    `groups` are lines over rhythms that were chosen by the numbers of `rhythm`, which count first.
    """
    found = _fit(real, groups, facts, _RIDGE)
    return _short({name: value + rhythm.get(name, 0.0) for name, value in found.items()})


def _short(weights: Mapping[str, float]) -> dict[str, float]:
    return {name: float(f"{value:.3g}") for name, value in weights.items()}
