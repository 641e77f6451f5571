"""Logistic regression with a ridge, by Newton's method, and how well it tells two sets apart."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]


def fit(rows: Floats, labels: Floats, ridge: float) -> Floats:
    """Weights, constant last, of P(label 1) = 1 / (1 + exp(-row . weights)); rows are scaled."""
    full = np.hstack([rows, np.ones((len(rows), 1))])
    penalty = np.full(full.shape[1], ridge)
    penalty[-1] = 1e-6
    weights = np.zeros(full.shape[1])
    for _ in range(50):
        chance = 1 / (1 + np.exp(-np.clip(full @ weights, -30, 30)))
        slope = full.T @ (labels - chance) - penalty * weights
        bend = (full * (chance * (1 - chance))[:, None]).T @ full + np.diag(penalty)
        move = np.linalg.solve(bend, slope)
        weights = weights + move
        if np.abs(move).max() < 1e-8:
            break
    return weights


def scale(rows: Floats) -> tuple[Floats, Floats]:
    """Mean and spread of each column; a column that never changes gets spread 1."""
    spread = rows.std(axis=0)
    return rows.mean(axis=0), np.where(spread > 1e-9, spread, 1.0)


def area(scores: Floats, labels: Floats) -> float:
    """Area under the ROC curve: how often a 1 scores above a 0, ties counting half."""
    ones, zeros = scores[labels == 1], np.sort(scores[labels == 0])
    below = np.searchsorted(zeros, ones, side="left")
    upto = np.searchsorted(zeros, ones, side="right")
    return float((below + upto).mean() / 2 / len(zeros))


def told_apart(
    real: Floats, made: Floats, *, folds: int = 10, ridge: float = 5.0, seed: int = 1
) -> float:
    """Area of held-out scores over folds: 0.5 where nobody can tell, 1 where anybody can."""
    rows = np.vstack([real, made])
    labels = np.concatenate([np.ones(len(real)), np.zeros(len(made))])
    order = np.random.default_rng(seed)
    fold = np.empty(len(rows), dtype=int)
    for label in (0.0, 1.0):
        chosen = np.flatnonzero(labels == label)
        fold[chosen] = order.permutation(len(chosen)) % folds
    scores = np.empty(len(rows))
    for each in range(folds):
        inside = fold != each
        mean, spread = scale(rows[inside])
        # Both classes weigh the same, so that the constant does not shift between folds.
        weights = fit((rows[inside] - mean) / spread, labels[inside], ridge)
        scores[~inside] = ((rows[~inside] - mean) / spread) @ weights[:-1] + weights[-1]
    return area(scores, labels)
