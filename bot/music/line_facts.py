"""Plain facts about a whole line, by name: what the critic knows of it.

Those of the rhythm alone are known before any tone is; `facts` gives them all.
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from itertools import pairwise
from typing import NamedTuple

_TRIAD = (0, 2, 4)
_LEAP = 3  # a fourth, in scale steps
_LENGTHS = (0.25, 0.5, 0.75, 1.0, 1.5, 2.0)  # in beats


class Heard(NamedTuple):
    """A note as it is heard: measure from 0, place and length in beats, steps above the tonic."""

    measure: int
    beat: float
    beats: float
    step: int


def facts(line: Sequence[Heard], measures: int) -> dict[str, float]:
    """Every fact by name: shares, counts and means of one line of two notes at least."""
    steps = [note.step for note in line]
    moves = [after - before for before, after in pairwise(steps)]
    bars = _measures(line, measures)
    return (
        rhythm_facts(line, measures)
        | _motion(steps, moves)
        | _curve(line, steps)
        | _degrees(line, steps)
        | _returns(bars, moves)
    )


def rhythm_facts(line: Sequence[Heard], measures: int) -> dict[str, float]:
    """The facts that need no tone."""
    count, half = len(line), measures // 2
    bars = _measures(line, measures)
    rhythms = [tuple((note.beat, note.beats) for note in bar) for bar in bars]
    lengths = [note.beats for note in line]
    before_half = bars[half - 1][-1].beats if bars[half - 1] else 0.0
    found = {f"{size:g} beats long": lengths.count(size) / count for size in _LENGTHS}
    return found | {
        "notes a measure": count / measures,
        "longer than two beats": sum(each > 2 for each in lengths) / count,
        "last note": line[-1].beats,
        "last of the half": before_half,
        "notes before the half": float(len(bars[half - 1])),
        "notes at the end": float(len(bars[-1])),
        "rhythms again": _earlier(rhythms),
        "rhythm of half begins again": float(rhythms[half] == rhythms[0]),
        "rhythm of second measure": float(rhythms[1] == rhythms[0]) if measures > 1 else 0.0,
        "rhythm of third measure": float(rhythms[2] == rhythms[0]) if measures > 2 else 0.0,
        "rhythm at once again": sum(a == b for a, b in pairwise(rhythms)) / measures,
    }


def _motion(steps: Sequence[int], moves: Sequence[int]) -> dict[str, float]:
    pairs = list(pairwise(moves))
    sizes = [abs(move) for move in moves]
    count = len(moves)
    return {
        "repeats": sizes.count(0) / count,
        "steps": sizes.count(1) / count,
        "thirds": sizes.count(2) / count,
        "leaps": sum(size >= _LEAP for size in sizes) / count,
        "wide leaps": sum(size > 4 for size in sizes) / count,
        "rises": sum(move > 0 for move in moves) / count,
        "turns": sum(a * b < 0 for a, b in pairs) / count,
        "goes on": sum(a * b > 0 for a, b in pairs) / count,
        "two steps on": sum(a == b and abs(a) == 1 for a, b in pairs) / count,
        "to and fro": sum(a == -b != 0 for a, b in pairs) / count,
        "leaps unanswered": sum(abs(a) >= _LEAP and a * b >= 0 for a, b in pairs) / count,
        "count of leaps": float(sum(size >= _LEAP for size in sizes)),
        "longest repeat": float(_longest(moves)),
    }


def _longest(moves: Sequence[int]) -> int:
    best = now = 1
    for move in moves:
        now = now + 1 if move == 0 else 1
        best = max(best, now)
    return best


def _curve(line: Sequence[Heard], steps: Sequence[int]) -> dict[str, float]:
    count, top, low = len(steps), max(steps), min(steps)
    mean, last = sum(steps) / count, line[-1].measure
    half = [note.step for note in line if note.measure * 2 <= last]
    opening = [note.step for note in line if note.measure <= 0]
    again = [note.step for note in line if note.measure == (last + 1) // 2] or [0]
    return {
        "compass": float(top - low),
        "top": float(top),
        "height": mean,
        "spread": (sum((step - mean) ** 2 for step in steps) / count) ** 0.5,
        "tops": float(steps.count(top)),
        "first top": steps.index(top) / count,
        "rise of the second half": mean - sum(half) / len(half),
        "height of the first measure": sum(opening) / len(opening),
        "height where the half begins": sum(again) / len(again),
    }


def _degrees(line: Sequence[Heard], steps: Sequence[int]) -> dict[str, float]:
    count = len(steps)
    strong = [note.step for note in line if note.beat == 0]
    weak = [note.step for note in line if note.beat % 1]
    names = ("do", "re", "mi", "fa", "so", "la", "ti")
    shares = {name: sum(step % 7 == at for step in steps) / count for at, name in enumerate(names)}
    return shares | {
        "begins on do": float(steps[0] % 7 == 0),
        "tonic on first beats": _tonic(strong),
        "tonic between beats": _tonic(weak),
    }


def _tonic(steps: Sequence[int]) -> float:
    return sum(step % 7 in _TRIAD for step in steps) / max(1, len(steps))


def _returns(bars: Sequence[Sequence[Heard]], moves: Sequence[int]) -> dict[str, float]:
    tunes = [tuple((note.beat, note.beats, note.step) for note in bar) for bar in bars]
    return {
        "echo of two": _earlier(list(pairwise(moves))),
        "echo of three": _earlier([tuple(moves[at : at + 3]) for at in range(len(moves) - 2)]),
        "echo of four": _earlier([tuple(moves[at : at + 4]) for at in range(len(moves) - 3)]),
        "measures again": _earlier(tunes),
        "shapes again": _earlier([_shape(bar) for bar in bars]),
        "half begins again": float(tunes[len(tunes) // 2] == tunes[0]),
    }


def _measures(line: Sequence[Heard], measures: int) -> list[list[Heard]]:
    bars: list[list[Heard]] = [[] for _ in range(measures)]
    for note in line:
        if 0 <= note.measure < measures:
            bars[note.measure].append(note)
    return bars


def _shape(bar: Sequence[Heard]) -> tuple[tuple[float, float, int], ...]:
    """A measure whatever the step it begins on: equal for a sequence."""
    return tuple((note.beat, note.beats, note.step - bar[0].step) for note in bar)


def _earlier(rows: Sequence[Hashable]) -> float:
    """Share of rows that stand earlier in the sequence too."""
    seen: set[Hashable] = set()
    again = 0
    for row in rows:
        again += row in seen
        seen.add(row)
    return again / max(1, len(rows))
