"""Fit the critic: what tells folk tunes from lines drawn without it."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from bot.music.line_facts import Heard, facts, rhythm_facts
from tests.fit.families import table
from tests.fit.logistic import fit, scale
from tests.fit.melody import Melody

_RIDGE = 15.0
Facts = Callable[[Sequence[Heard], int], dict[str, float]]


def facts_of(melody: Melody, kind: Facts = facts) -> dict[str, float]:
    """What the critic notices of a melody."""
    beat = melody.beat
    line = [
        Heard(measure, tick / beat, length / beat, step)
        for measure, tick, length, step in melody.places()
    ]
    return kind(line, (melody.length - melody.pickup) // melody.measure)


def fit_critic(
    real: Sequence[Melody], made: Sequence[Melody], kind: Facts = facts
) -> dict[str, float]:
    """A number for each fact; the higher the sum, the more like a tune."""
    names = tuple(facts_of(real[0], kind))
    found = [facts_of(each, kind) for each in (*real, *made)]
    rows = table([[each[name] for name in names] for each in found])
    labels = table([[1.0]] * len(real) + [[0.0]] * len(made))[:, 0]
    mean, spread = scale(rows)
    weights = fit((rows - mean) / spread, labels, _RIDGE)[:-1] / spread
    return {name: float(f"{weight:.3g}") for name, weight in zip(names, weights, strict=True)}


def fit_rhythm_critic(real: Sequence[Melody], made: Sequence[Melody]) -> dict[str, float]:
    """The same of facts about the rhythm alone."""
    return fit_critic(real, made, rhythm_facts)
