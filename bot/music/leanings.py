"""What a line has sung so far, and how it speaks for each tone to come: echoes and the compass.

A tune comes back to itself: a measure later, two, four, or half a measure, note for note or on
other steps. `LeantLines` walk through the same choices as the lines that they wrap, and lean each
one by what was sung before. No line is lost and none is won; the chance of each is still the
product of the chances of its choices. How much each trait counts is in `weights.py`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise
from math import exp
from types import MappingProxyType
from typing import NamedTuple

from bot.music.lines import Choice, Label, Lines, tone_in
from bot.music.patterns import ticks
from bot.music.rhythm import Metre
from bot.music.skeleton import Skeleton
from bot.music.weights import LEAN

LAGS = {"a measure": 2, "two measures": 4, "four measures": 8, "half a measure": 1}  # in halves
_LONG_RUN, _OCTAVE = 3, 7
_DIGITS, _LEAST = 9, 1e-6


class _Again(NamedTuple):
    """The names of a tone and a move that come again, by how many did before."""

    tone: tuple[str, ...]
    move: tuple[str, ...]


def _again(lag: str, *, alike: bool) -> _Again:
    name, runs = f"{lag}, {'same' if alike else 'other'} rhythm", range(_LONG_RUN + 1)
    return _Again(
        tuple(f"{name}: tone again, {run}" for run in runs),
        tuple(f"{name}: move again, {run}" for run in runs),
    )


_AGAIN = {(lag, alike): _again(lag, alike=alike) for lag in LAGS for alike in (True, False)}
_ELSE = (
    "three moves again",
    "two tones again",
    "the top again",
    "a new bottom",
    "beyond an octave",
)
_CADENCE = {
    (end, left, degree): f"{left} before the {end}: degree {degree}"
    for end in ("half", "last")
    for left in range(3)
    for degree in range(7)
}


class Source(NamedTuple):
    """An earlier note that stands as this one does.

    `lag` is how long ago, `note` its number; `alike` says whether the rhythm around is the same,
    `goes_on` whether the notes before both stand alike too.
    """

    lag: str
    note: int
    alike: bool
    goes_on: bool


class Run(NamedTuple):
    """How many notes up to the last one repeat those at a lag: in their tones, in their moves."""

    tones: int = 0
    moves: int = 0


class Sung(NamedTuple):
    """The steps sung so far and the run at each lag."""

    steps: tuple[int, ...] = ()
    runs: Mapping[str, Run] = MappingProxyType(dict.fromkeys(LAGS, Run()))


class Leanings:
    """Where each note of a rhythm can echo an earlier one. Steps count from the tonic."""

    def __init__(self, skeleton: Skeleton, metre: Metre) -> None:
        self.notes = len(skeleton.spots)
        self._halves = skeleton.phrase_ends[:-1]
        self.sources = _sources(skeleton, metre)

    def sing(self, sung: Sung, step: int) -> Sung:
        """One note more."""
        note, steps = len(sung.steps), (*sung.steps, step)
        runs = dict.fromkeys(LAGS, Run())
        for source in self.sources[note]:
            other = source.note
            tones, moves = sung.runs[source.lag] if source.goes_on else Run()
            moved = other > 0 and steps[other] - steps[other - 1] == step - steps[-2]
            runs[source.lag] = Run((tones + 1) * (steps[other] == step), (moves + 1) * moved)
        return Sung(steps, runs)

    def traits(self, sung: Sung, steps: Sequence[int]) -> Iterator[tuple[str, int]]:
        """Every trait with the step that has it, for the note after those sung (one at least)."""
        note, past = len(sung.steps), sung.steps
        for source in self.sources[note]:
            tones, moves = sung.runs[source.lag] if source.goes_on else Run()
            again = _AGAIN[source.lag, source.alike]
            yield again.tone[min(tones, _LONG_RUN)], past[source.note]
            if source.note and not tones:
                move = past[source.note] - past[source.note - 1]
                yield again.move[min(moves, _LONG_RUN)], past[-1] + move
        yield from _heard_before(past)
        yield from _compass(past, steps)
        yield from self._cadence(note, steps)

    def _cadence(self, note: int, steps: Sequence[int]) -> Iterator[tuple[str, int]]:
        left = self.notes - 1 - note
        if left in (1, 2):
            yield from ((_CADENCE["last", left, step % 7], step) for step in steps)
        for end in self._halves:
            if 0 <= end - 1 - note <= 2:
                yield from ((_CADENCE["half", end - 1 - note, step % 7], step) for step in steps)


def _sources(skeleton: Skeleton, metre: Metre) -> list[tuple[Source, ...]]:
    """For each note the earlier ones that stand as it does."""
    measure = ticks(metre.measure)
    spots = [(spot.measure * measure + spot.offset, spot.ticks) for spot in skeleton.spots]
    numbers = {at: note for note, (at, _) in enumerate(spots)}
    around = {size: _around(spots, size) for size in (measure, measure // 2)}
    lags = [
        (lag, measure * half // 2, measure if half > 1 else measure // 2)
        for lag, half in LAGS.items()
        if half > 1 or metre.pulses % 2 == 0
    ]
    found: list[tuple[Source, ...]] = []
    for note, (at, _) in enumerate(spots):
        here = []
        for lag, back, size in lags:
            other = numbers.get(at - back)
            if other is not None:
                alike = around[size][at // size] == around[size][(at - back) // size]
                goes_on = bool(note and other) and spots[note - 1][0] - back == spots[other - 1][0]
                here.append(Source(lag, other, alike, goes_on))
        found.append(tuple(here))
    return found


def _around(spots: Sequence[tuple[int, int]], size: int) -> dict[int, list[tuple[int, int]]]:
    """The rhythm of each measure, or half of one, by its number."""
    rhythms: dict[int, list[tuple[int, int]]] = {}
    for at, length in spots:
        rhythms.setdefault(at // size, []).append((at % size, length))
    return rhythms


def _heard_before(past: Sequence[int]) -> Iterator[tuple[str, int]]:
    """Groups of moves and pairs of tones that this step would make come again."""
    last = past[-1]
    moves = [b - a for a, b in pairwise(past)]
    triples = {
        c for a, b, c in zip(moves, moves[1:], moves[2:], strict=False) if [a, b] == moves[-2:]
    }
    yield from (("three moves again", last + move) for move in triples)
    after = {b for a, b in pairwise(past) if a == last}
    yield from (("two tones again", step) for step in after)


def _compass(past: Sequence[int], steps: Sequence[int]) -> Iterator[tuple[str, int]]:
    top, bottom, last = max(past), min(past), past[-1]
    for step in steps:
        if step == top != last:
            yield "the top again", step
        if step < bottom:
            yield "a new bottom", step
        if max(step, top) - min(step, bottom) > _OCTAVE:
            yield "beyond an octave", step


def trait_names() -> tuple[str, ...]:
    """Every trait that a way on can have."""
    again = (name for each in _AGAIN.values() for names in each for name in names)
    return (*again, *_CADENCE.values(), *_ELSE)


class LeantState(NamedTuple):
    """A state of the lines, what was sung on the way to the last choice, and the step chosen."""

    inner: tuple[object, ...]
    sung: Sung = Sung()
    step: int | None = None


class LeantLines:
    """The lines of others, each choice of a tone leant by what was sung before it.

    `steps` are the scale steps above the tonic of the table's tones; `copied` is how many notes of
    the first phrase these lines copy at the start of the second.
    """

    def __init__(
        self, lines: Lines, skeleton: Skeleton, metre: Metre, steps: Sequence[int], copied: int = 0
    ) -> None:
        self.inner, self._steps, self._copied = lines, steps, copied
        self._distinct = tuple(dict.fromkeys(steps))
        self._seam = skeleton.phrase_ends[0] if copied else 0
        self._leanings = Leanings(skeleton, metre)
        self.total = lines.total
        self.root: tuple[object, ...] = LeantState(lines.root)

    def choices(self, state: tuple[object, ...]) -> list[Choice]:
        """The choices of the lines, each with its weight up to a factor of the state."""
        assert isinstance(state, LeantState)
        found = self.inner.choices(state.inner)
        if not found:
            return found
        sung = state.sung if state.step is None else self._sing(state.sung, state.step)
        factors = self._factors(sung)
        leant = []
        for label, mass, after in found:
            tone = tone_in(label)
            step = None if tone is None else self._steps[tone]
            factor = 1.0 if step is None else factors[step]
            leant.append(Choice(label, mass * factor, LeantState(after, sung, step)))
        return leant

    def _factors(self, sung: Sung) -> Mapping[int, float]:
        """How much more or less each step is welcome; only ratios count."""
        sums = dict.fromkeys(self._distinct, 0.0)
        if sung.steps:
            for name, step in self._leanings.traits(sung, self._distinct):
                if step in sums:
                    sums[step] += LEAN.get(name, 0.0)
        return {step: max(round(exp(each), _DIGITS), _LEAST) for step, each in sums.items()}

    def _sing(self, sung: Sung, step: int) -> Sung:
        """One note more, and where the second phrase copies the first, its copied notes."""
        sung = self._leanings.sing(sung, step)
        if self._copied and len(sung.steps) == self._seam:
            for each in sung.steps[: self._copied]:
                sung = self._leanings.sing(sung, each)
        return sung

    def tones(self, labels: Sequence[Label]) -> tuple[int, ...]:
        """The tones of a finished line."""
        return self.inner.tones(labels)

    def labels(self, tones: Sequence[int]) -> tuple[Label, ...] | None:
        """The choices that give these tones, None where no line has them in this shape."""
        return self.inner.labels(tones)
