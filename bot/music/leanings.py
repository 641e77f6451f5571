"""What a line has sung so far, and how it speaks for each tone to come, by traits of the way on.

A tune comes back to itself: a measure later, two, four, or half a measure, note for note or on
other steps. `Leanings` name the traits of each way on by that, and by how it goes on a turn and
comes to an end (shapes.py, endings.py). leant_lines.py draws by them.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from types import MappingProxyType
from typing import NamedTuple

from bot.music.endings import ENDINGS, Endings
from bot.music.lines import make
from bot.music.patterns import ticks
from bot.music.rhythm import Metre
from bot.music.shapes import TURNS, turns
from bot.music.skeleton import Skeleton

LAGS = {"a measure": 2, "two measures": 4, "four measures": 8, "half a measure": 1}  # in halves
_LONG_RUN, _OCTAVE = 3, 7


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


class Source(NamedTuple):
    """An earlier note that stands as this one does.

    `lag` is how long ago, by its place in LAGS, `note` its number; `again` has the names of its
    traits; `goes_on` says whether the notes before both stand alike too.
    """

    lag: int
    note: int
    again: _Again
    goes_on: bool


# Notes up to the last one that repeat those at a lag: their tones, their moves, _LONG_RUN at most.
Run = tuple[int, int]
_NO_RUN: Run = (0, 0)
_NO_RUNS = (_NO_RUN,) * len(LAGS)
_Seen = Mapping[tuple[int, ...], tuple[int, ...]]  # each thing once


class Sung(NamedTuple):
    """The steps sung so far, the run at each lag, and what came after each tone and two moves.

    `top` and `bottom` are the highest and the lowest step.
    """

    steps: tuple[int, ...] = ()
    top: int = 0
    bottom: int = 0
    runs: tuple[Run, ...] = _NO_RUNS
    after: _Seen = MappingProxyType({})
    moved: _Seen = MappingProxyType({})


class Leanings:
    """Where each note of a rhythm can echo an earlier one. Steps count from the tonic."""

    def __init__(self, skeleton: Skeleton, metre: Metre) -> None:
        self.notes = len(skeleton.spots)
        self.endings = Endings(skeleton)
        self.sources = _sources(skeleton, metre)

    def sing(self, sung: Sung, step: int) -> Sung:
        """One note more."""
        past, before = sung.steps, sung.runs
        if not past:
            return Sung((step,), step, step)
        runs, move = [*_NO_RUNS], step - past[-1]
        for lag, other, _, goes_on in self.sources[len(past)]:
            tones, moves = before[lag] if goes_on else _NO_RUN
            if past[other] != step:
                tones = 0
            elif tones < _LONG_RUN:
                tones += 1
            if not other or past[other] - past[other - 1] != move:
                moves = 0
            elif moves < _LONG_RUN:
                moves += 1
            runs[lag] = (tones, moves)
        after, moved_on = _noted(sung.after, past[-1:], step), sung.moved
        if len(past) > 2:
            a, b, c = past[-3:]
            moved_on = _noted(moved_on, (b - a, c - b), move)
        top = step if step > sung.top else sung.top
        bottom = step if step < sung.bottom else sung.bottom
        return make(Sung, ((*past, step), top, bottom, tuple(runs), after, moved_on))

    def traits(self, sung: Sung, steps: Sequence[int]) -> Iterator[tuple[str, int]]:
        """Every trait with the step that has it, for the note after those sung (one at least)."""
        yield from self.echoes(sung)
        yield from reaches(sung.top, sung.bottom, sung.steps[-1], steps)
        yield from self.endings.traits(len(sung.steps), sung.steps[-1], steps)
        yield from turns(sung.steps, steps)

    def echoes(self, sung: Sung) -> list[tuple[str, int]]:
        """The traits of steps that bring again what was sung."""
        past, runs = sung.steps, sung.runs
        last, found = past[-1], []
        for lag, note, again, goes_on in self.sources[len(past)]:
            tones, moves = runs[lag] if goes_on else _NO_RUN
            found.append((again.tone[tones], past[note]))
            if note and not tones:
                move = past[note] - past[note - 1]
                found.append((again.move[moves], last + move))
        if len(past) > 2:
            a, b = past[-3:-1]
            moved = sung.moved.get((b - a, last - b), ())
            found += [("three moves again", last + move) for move in moved]
        return found + [("two tones again", step) for step in sung.after.get((last,), ())]


def reaches(top: int, bottom: int, last: int, steps: Sequence[int]) -> Iterator[tuple[str, int]]:
    """The traits of steps by the highest and lowest tone before them, and the last one."""
    for step in steps:
        if step == top != last:
            yield "the top again", step
        if step < bottom:
            yield "a new bottom", step
        if max(step, top) - min(step, bottom) > _OCTAVE:
            yield "beyond an octave", step


def _noted(seen: _Seen, before: tuple[int, ...], now: int) -> _Seen:
    """The same with one thing more that came."""
    known = seen.get(before, ())
    return seen if now in known else {**seen, before: (*known, now)}


def _sources(skeleton: Skeleton, metre: Metre) -> list[tuple[Source, ...]]:
    """For each note the earlier ones that stand as it does."""
    measure = ticks(metre.measure)
    spots = [(spot.measure * measure + spot.offset, spot.ticks) for spot in skeleton.spots]
    numbers = {at: note for note, (at, _) in enumerate(spots)}
    around = {size: _around(spots, size) for size in (measure, measure // 2)}
    lags = [
        (place, lag, measure * half // 2, measure if half > 1 else measure // 2)
        for place, (lag, half) in enumerate(LAGS.items())
        if half > 1 or metre.pulses % 2 == 0
    ]
    found: list[tuple[Source, ...]] = []
    for note, (at, _) in enumerate(spots):
        here = []
        for place, lag, back, size in lags:
            other = numbers.get(at - back)
            if other is not None:
                alike = around[size][at // size] == around[size][(at - back) // size]
                goes_on = bool(note and other) and spots[note - 1][0] - back == spots[other - 1][0]
                here.append(Source(place, other, _AGAIN[lag, alike], goes_on))
        found.append(tuple(here))
    return found


def _around(spots: Sequence[tuple[int, int]], size: int) -> dict[int, list[tuple[int, int]]]:
    """The rhythm of each measure, or half of one, by its number."""
    rhythms: dict[int, list[tuple[int, int]]] = {}
    for at, length in spots:
        rhythms.setdefault(at // size, []).append((at % size, length))
    return rhythms


def trait_names() -> tuple[str, ...]:
    """Every trait that a way on can have."""
    again = (name for each in _AGAIN.values() for names in each for name in names)
    return (*again, *ENDINGS, *_ELSE, *(each for row in TURNS.values() for each in row))
