"""Fit the critic: what tells folk tunes from lines drawn without it."""

from __future__ import annotations

from collections.abc import Sequence

from bot.music.critic import Heard, facts
from tests.fit.families import table
from tests.fit.logistic import fit, scale
from tests.fit.melody import Melody

_RIDGE = 8.0


def facts_of(melody: Melody) -> dict[str, float]:
    """What the critic notices of a melody."""
    beat = melody.beat
    line = [
        Heard(measure, tick / beat, length / beat, step)
        for measure, tick, length, step in melody.places()
    ]
    return facts(line, (melody.length - melody.pickup) // melody.measure)


def fit_critic(
    real: Sequence[Melody], made: Sequence[Melody], names: Sequence[str]
) -> dict[str, float]:
    """A number for each fact; the higher the sum, the more like a tune."""
    rows = table([[facts_of(each)[name] for name in names] for each in (*real, *made)])
    labels = table([[1.0]] * len(real) + [[0.0]] * len(made))[:, 0]
    mean, spread = scale(rows)
    weights = fit((rows - mean) / spread, labels, _RIDGE)[:-1] / spread
    return {name: float(f"{weight:.3g}") for name, weight in zip(names, weights, strict=True)}
