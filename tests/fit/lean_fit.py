"""Fit how a line leans on what it has sung, beside the numbers that look two tones back."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize
from scipy.sparse import csr_matrix

from bot.music.leanings import Leanings, Sung
from bot.music.patterns import PHRASE, TICKS
from bot.music.rhythm import Metre
from bot.music.skeleton import Skeleton, Spot
from tests.fit.logistic import Floats
from tests.fit.melody import WHOLE, Melody
from tests.fit.pitch_fit import STEPS, chances, places

Ints = NDArray[np.int64]

_METRES = {(16, 4): Metre(), (12, 4): Metre(beats=3), (12, 6): Metre(beats=6, unit=8)}
RIDGE = 3.0
_LEAST = 40  # times that a trait has to be there to choose or to leave
_SMALL = 0.1  # a number nearer to 0 is left out
WORTH = 3.0  # in nats: how much likelier a number has to make all tunes together


@dataclass(frozen=True, slots=True, kw_only=True)
class Ways:
    """Every way on of some melodies, flattened to (events x STEPS).

    `scores` of the line alone (events, STEPS); `taken` the number of the step sung; `rows` and
    `names` pair each trait with the way on that has it.
    """

    scores: Floats
    taken: Ints
    rows: Ints
    names: tuple[str, ...]


def leanings_of(melody: Melody) -> Leanings:
    """Where a melody can echo itself; a half cadence only where phrases begin on a first beat."""
    spots = [Spot(bar, tick * TICKS // WHOLE, long * TICKS // WHOLE)
             for bar, tick, long, _ in melody.places()]  # fmt: skip
    ends = [len(spots)]
    if not melody.pickup and melody.length // melody.measure % PHRASE == 0:
        ends = [
            note + 1
            for note, spot in enumerate(spots)
            if note + 1 == len(spots) or spots[note + 1].measure // PHRASE > spot.measure // PHRASE
        ]
    skeleton = Skeleton(places=(), new=(), phrase_ends=tuple(ends), spots=tuple(spots))
    return Leanings(skeleton, _METRES[melody.measure, melody.beat])


def ways(melodies: Iterable[Melody], line: Mapping[str, float]) -> Ways:
    """Every way on of the melodies within STEPS, but onto the last note, which is given."""
    table = np.log(chances(line))
    scores: list[Floats] = []
    taken: list[int] = []
    rows: list[int] = []
    names: list[str] = []
    for melody in melodies:
        if not set(melody.steps) <= set(STEPS):
            continue
        for place, traits in zip(list(places(melody))[:-1], traits_of(melody), strict=True):
            for name, step in traits:
                if step in STEPS:
                    rows.append(len(STEPS) * len(taken) + step - STEPS[0])
                    names.append(name)
            scores.append(table[place[:-1]])
            taken.append(place[-1])
    return Ways(scores=np.array(scores), taken=np.array(taken), rows=np.array(rows),
                    names=tuple(names))  # fmt: skip


def traits_of(melody: Melody) -> Iterator[list[tuple[str, int]]]:
    """Every trait of each way on from the second note, with the step that has it."""
    leanings, steps = leanings_of(melody), melody.steps
    sung = Sung()
    for step in steps[:-1]:
        if sung.steps:
            yield list(leanings.traits(sung, STEPS))
        sung = leanings.sing(sung, step)


def names_of(data: Ways) -> tuple[str, ...]:
    """The traits that were there often enough to weigh."""
    found, often = np.unique(np.array(data.names), return_counts=True)
    return tuple(str(name) for name, times in zip(found, often, strict=True) if times >= _LEAST)


def fit(data: Ways, names: Sequence[str], worth: float = WORTH) -> dict[str, float]:
    """The numbers that make what was sung likeliest, but for those that do too little for it.

    Those that are worth so much are fitted again without the others; two decimals.
    """
    every = _fitted(data, names)
    found = worths(data, every)
    return _fitted(data, [name for name in every if found[name] >= worth])


def _fitted(data: Ways, names: Sequence[str]) -> dict[str, float]:
    """The likeliest numbers of some traits, held near 0 by a ridge."""
    traits, events = _matrix(data, names), np.arange(len(data.taken))
    seen = np.asarray(traits[events * len(STEPS) + data.taken].sum(axis=0)).ravel()

    def loss(weights: Floats) -> tuple[float, Floats]:
        logs = _logs(data, traits, weights)
        likely = float(logs[events, data.taken].sum())
        owed = seen - traits.T @ np.exp(logs).ravel()
        return RIDGE / 2 * float(weights @ weights) - likely, RIDGE * weights - owed

    found = minimize(loss, np.zeros(len(names)), jac=True, method="L-BFGS-B",
                     options={"maxiter": 200})  # fmt: skip
    weights = zip(names, found.x, strict=True)
    return {name: round(float(each), 2) for name, each in weights if abs(each) >= _SMALL}


def worths(data: Ways, weights: Mapping[str, float]) -> dict[str, float]:
    """How many nats each number is worth to all that was sung, near enough.

    Half its square times how sharply it is settled, as if the other numbers stayed.
    """
    traits, values = _matrix(data, tuple(weights)), np.array(list(weights.values()))
    chances = np.exp(_logs(data, traits, values)).reshape(-1, 1)
    count = len(data.taken)
    ways = np.arange(count * len(STEPS))
    events = csr_matrix((np.ones(len(ways)), (ways // len(STEPS), ways)), shape=(count, len(ways)))
    expected = (events @ traits.multiply(chances)).power(2).sum(axis=0)
    spread = traits.power(2).multiply(chances).sum(axis=0) - expected
    settled = np.asarray(spread).ravel() + RIDGE
    return dict(zip(weights, (values**2 * settled / 2).tolist(), strict=True))


def bits(data: Ways, weights: Mapping[str, float]) -> float:
    """Mean surprisal of what was sung, in bits a note."""
    logs = _logs(data, _matrix(data, tuple(weights)), np.array(list(weights.values())))
    return float(-logs[np.arange(len(data.taken)), data.taken].mean() / np.log(2))


def _matrix(data: Ways, names: Sequence[str]) -> csr_matrix:
    column = {name: at for at, name in enumerate(names)}
    pairs = [(row, column[name]) for row, name in zip(data.rows, data.names, strict=True)
             if name in column]  # fmt: skip
    places = np.array(pairs, dtype=np.int64).reshape(-1, 2).T
    shape = (len(data.taken) * len(STEPS), len(names))
    return csr_matrix((np.ones(len(pairs)), (places[0], places[1])), shape=shape)


def _logs(data: Ways, traits: csr_matrix, weights: Floats) -> Floats:
    scores: Floats = data.scores + (traits @ weights).reshape(data.scores.shape)
    scores = scores - scores.max(axis=1, keepdims=True)
    logs: Floats = scores - np.log(np.exp(scores).sum(axis=1, keepdims=True))
    return logs
