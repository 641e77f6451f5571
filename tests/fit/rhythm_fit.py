"""Fit the weights of measures of rhythm: log-linear over every way to fill a measure."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence

import numpy as np
from scipy.optimize import minimize

from bot.music.level import Level
from bot.music.measure_traits import measure_traits
from bot.music.patterns import PHRASE, TICKS, Filling, Pattern, Role, may_stand, role_of
from bot.music.rhythm import Metre
from tests.fit.logistic import Floats
from tests.fit.melody import WHOLE, Melody

Shape = tuple[tuple[float, float], ...]  # (tick, length) of each note of a measure
_LEAST = 4  # times that a trait has to be seen


def shape_of(pattern: Pattern) -> Shape:
    """The notes of a pattern in ticks; rests are what lies between."""
    return tuple(
        (each.offset * WHOLE // TICKS, each.ticks * WHOLE // TICKS)
        for each in pattern.struck
        if not each.rest
    )


def measures(melodies: Iterable[Melody], metre: Metre) -> Iterator[tuple[Role, Shape]]:
    """Every measure of tunes without pickup, with its role by its place in a phrase of four.

    Tunes in 2/4 count twice: in their own values, and in twice their values as tunes in 4/4.
    """
    own = metre.pulses == 2
    measure, beat = int(metre.measure * WHOLE) * (2 if own else 1), 4
    for melody in melodies:
        bars = melody.bars()
        if melody.pickup or (melody.measure, melody.beat) != (measure, beat) or len(bars) % PHRASE:
            continue
        if own and not melody.doubled:
            continue
        for number, bar in enumerate(bars):
            role = Role.CLOSE if number == len(bars) - 1 else role_of(number % PHRASE, 2 * PHRASE)
            yield role, tuple((tick / (own + 1), length / (own + 1)) for tick, length, _ in bar)


_STANDS = {Role.OPEN: 4, Role.FLOW: 5, Role.LEAD: 6, Role.HALF: 3, Role.CLOSE: 7}


class RhythmData:
    """Counts of every pattern in one metre and role, with the traits of each."""

    def __init__(self, level: Level, metre: Metre, role: Role, seen: Counter[Shape]) -> None:
        every = Filling(
            tuple(cell for cell in level.cells if cell.offsets(metre)), metre
        ).patterns()
        standing = [each for each in every if may_stand(each, _STANDS[role], 8, metre, free=True)]
        known: dict[Shape, int] = {}
        for number, pattern in enumerate(standing):
            known.setdefault(shape_of(pattern), number)
        self.taken = np.zeros(len(standing))
        for shape, times in seen.items():
            if shape in known:
                self.taken[known[shape]] += times
        self.traits = [Counter(measure_traits(each, role, metre)) for each in standing]
        self.shapes = [shape_of(each) for each in standing]

    def rows(self, names: tuple[str, ...]) -> Floats:
        """Traits as numbers: (patterns, names)."""
        return np.array([[row[name] for name in names] for row in self.traits], dtype=np.float64)


def read_data(melodies: Sequence[Melody], level: Level) -> list[RhythmData]:
    """Every role in 4/4, 3/4 and 2/4."""
    found = []
    for metre in (Metre(), Metre(beats=3), Metre(beats=2)):
        seen: dict[Role, Counter[Shape]] = {role: Counter() for role in Role}
        for role, shape in measures(melodies, metre):
            seen[role][shape] += 1
        found += [RhythmData(level, metre, role, seen[role]) for role in Role]
    return found


def names_of(data: Iterable[RhythmData]) -> tuple[str, ...]:
    """The traits that were seen often enough to weigh, and those that were never seen."""
    seen: Counter[str] = Counter()
    possible: set[str] = set()
    for each in data:
        for times, traits in zip(each.taken, each.traits, strict=True):
            possible |= traits.keys()
            for name, count in traits.items():
                seen[name] += int(times * count)
    return tuple(sorted(name for name in possible if seen[name] >= _LEAST or " then " not in name))


def fit(data: list[RhythmData], names: tuple[str, ...], ridge: float = 1.0) -> dict[str, float]:
    """The numbers that make the measures seen likeliest, held near 0; two decimals."""
    rows = [each.rows(names) for each in data]

    def loss(weights: Floats) -> tuple[float, Floats]:
        value, slope = ridge / 2 * float(weights @ weights), ridge * weights
        for each, traits in zip(data, rows, strict=True):
            scores = traits @ weights
            scores -= scores.max()
            norm = np.exp(scores).sum()
            chance = np.exp(scores) / norm
            value -= float(each.taken @ (scores - np.log(norm)))
            slope = slope - traits.T @ (each.taken - each.taken.sum() * chance)
        return value, slope

    found = minimize(loss, np.zeros(len(names)), jac=True, method="L-BFGS-B",
                     options={"maxiter": 400})  # fmt: skip
    weights = zip(names, found.x, strict=True)
    return {name: round(float(weight), 2) for name, weight in weights if abs(weight) >= 0.05}
