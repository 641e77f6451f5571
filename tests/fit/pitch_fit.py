"""Fit the log-linear pitch model: how often each way on was taken, by gradient."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

import numpy as np
from scipy.optimize import minimize

from bot.music.traits import TRAITS, Length, Strength, grid
from tests.fit.logistic import Floats
from tests.fit.melody import Melody

STEPS = tuple(range(-5, 10))  # la below low so to mi above high do


def places(melody: Melody) -> Iterator[tuple[int, int, int, int, int]]:
    """Each note after the first as indexes into (strength, length, before, last, to)."""
    before, last = len(STEPS), None
    for _, tick, length, step in melody.places():
        to = step - STEPS[0]
        if last is not None and 0 <= to < len(STEPS):
            yield strength(tick, melody), size(length, melody.beat), before, last, to
        if last is not None and to != last:
            before = last
        last = to if 0 <= to < len(STEPS) else None
        if last is None:
            before = len(STEPS)


def strength(tick: int, melody: Melody) -> int:
    """The metric place of a note as the traits see it."""
    if tick == 0:
        return Strength.FIRST
    if tick % melody.beat:
        return Strength.BETWEEN
    middle = tick * 2 == melody.measure and melody.measure == 4 * melody.beat
    return Strength.MIDDLE if middle else Strength.BEAT


def size(length: int, beat: int) -> int:
    """A note's length beside the beat."""
    return Length.SHORT if length < beat else Length.BEAT if length == beat else Length.LONG


def counts(melodies: Iterable[Melody]) -> Floats:
    """How often each way on was taken, shaped (strength, length, before, last, to)."""
    width = len(STEPS)
    table = np.zeros((len(Strength), len(Length), width + 1, width, width))
    for melody in melodies:
        for place in places(melody):
            table[place] += 1
    return table


def stacked(names: Iterable[str]) -> Floats:
    """Traits as numbers: (ways on flattened to contexts, to, traits)."""
    ways = grid(STEPS)
    shape = (len(Strength), len(Length), len(STEPS) + 1, len(STEPS), len(STEPS))
    rows = [np.broadcast_to(TRAITS[name](ways), shape).reshape(-1, len(STEPS)) for name in names]
    return np.stack(rows, axis=-1).astype(np.float64)


def fit(
    table: Floats,
    names: tuple[str, ...],
    ridge: float = 2.0,
    around: Mapping[str, float] | None = None,
) -> dict[str, float]:
    """The numbers that make what was taken likeliest; two decimals.

    A ridge holds them near 0, or near the numbers of `around`.
    """
    middle = np.array([(around or {}).get(name, 0.0) for name in names])
    taken = table.reshape(-1, len(STEPS))
    used = taken.sum(axis=1) > 0
    taken, traits = taken[used], stacked(names)[used]
    totals = taken.sum(axis=1)
    seen = np.einsum("ct,ctf->f", taken, traits)

    def loss(weights: Floats) -> tuple[float, Floats]:
        scores = traits @ weights
        top = scores.max(axis=1, keepdims=True)
        chance = np.exp(scores - top)
        norm = chance.sum(axis=1, keepdims=True)
        likely = float(((scores - top - np.log(norm)) * taken).sum())
        expected = np.einsum("ct,ctf->f", chance / norm * totals[:, None], traits)
        off = weights - middle
        value = ridge / 2 * float(off @ off) - likely
        return value, ridge * off - (seen - expected)

    found = minimize(loss, middle, jac=True, method="L-BFGS-B",
                     options={"maxiter": 500, "ftol": 1e-9})  # fmt: skip
    return {name: round(float(weight), 2) for name, weight in zip(names, found.x, strict=True)}


def chances(weights: Mapping[str, float]) -> Floats:
    """The chance of every way on, shaped like `counts`."""
    scores = stacked(weights) @ np.array(list(weights.values()))
    raised = np.exp(scores - scores.max(axis=1, keepdims=True))
    width = len(STEPS)
    table: Floats = raised / raised.sum(axis=1, keepdims=True)
    return table.reshape(len(Strength), len(Length), width + 1, width, width)


def bits(table: Floats, weights: Mapping[str, float]) -> float:
    """Mean surprisal of what was taken, in bits a note."""
    return float(-(np.log2(chances(weights)) * table).sum() / table.sum())
