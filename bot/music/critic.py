"""Which of several valid lines is most like a sung tune: a straight-line score of plain facts.

Every candidate obeys every rule; the critic only chooses. It was fitted to tell folk tunes from
lines drawn without it (`python -m tests.fit`), so it likes what those lines lack: small echoes,
measures that come back, a curve that goes somewhere. The numbers are in `weights.py`.
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from itertools import pairwise
from typing import NamedTuple

from bot.music.exercise import Exercise
from bot.music.weights import CRITIC

_TRIAD = (0, 2, 4)
_LEAP = 3  # a fourth, in scale steps


class Heard(NamedTuple):
    """A note as it is heard: measure from 0, place and length in beats, steps above the tonic."""

    measure: int
    beat: float
    beats: float
    step: int


def score(exercise: Exercise) -> float:
    """How much a line is like a sung tune; higher is better. Only the top line is looked at."""
    found = facts(heard(exercise), exercise.measures)
    return sum(weight * found[name] for name, weight in CRITIC.items())


def best(candidates: Sequence[Exercise]) -> int:
    """The number of the best candidate, the first of equals; ValueError where there is none."""
    if not candidates:
        raise ValueError("no candidate to choose from")
    scores = [score(each) for each in candidates]
    return scores.index(max(scores))


def heard(exercise: Exercise) -> tuple[Heard, ...]:
    """The notes of the top line, tied ones as one, rests left out."""
    metre, pickup = exercise.metre, exercise.pickup
    measure, pulse = metre.measure, metre.pulse
    found: list[Heard] = []
    tonic = exercise.key.mode.tonic_step
    held = False
    for offset, note in exercise.parts[0].timed():
        beats = float(note.duration / pulse)
        if held:
            found[-1] = found[-1]._replace(beats=found[-1].beats + beats)
        elif note.tone is not None:
            number, place = divmod(offset - pickup, measure)
            found.append(Heard(int(number), float(place / pulse), beats, note.tone.step - tonic))
        held = note.tied
    return tuple(found)


def facts(line: Sequence[Heard], measures: int) -> dict[str, float]:
    """Every fact by name: shares, counts and means of one line of two notes at least."""
    steps = [note.step for note in line]
    moves = [after - before for before, after in pairwise(steps)]
    return _motion(steps, moves) | _curve(line, steps) | _returns(line, moves, measures)


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
    mean = sum(steps) / count
    strong = [note.step for note in line if note.beat == 0] or [0]
    half = [note.step for note in line if note.measure * 2 <= line[-1].measure]
    return {
        "notes a measure": count / (line[-1].measure + 1),
        "compass": float(top - low),
        "top": float(top),
        "height": mean,
        "spread": (sum((step - mean) ** 2 for step in steps) / count) ** 0.5,
        "tops": float(steps.count(top)),
        "first top": steps.index(top) / count,
        "rise of the second half": mean - sum(half) / len(half),
        "do": sum(step % 7 == 0 for step in steps) / count,
        "re": sum(step % 7 == 1 for step in steps) / count,
        "fa": sum(step % 7 == 3 for step in steps) / count,
        "so": sum(step % 7 == 4 for step in steps) / count,
        "la": sum(step % 7 == 5 for step in steps) / count,
        "ti": sum(step % 7 == 6 for step in steps) / count,
        "tonic on first beats": sum(step % 7 in _TRIAD for step in strong) / len(strong),
        "long notes": sum(note.beats > 1 for note in line) / count,
        "short notes": sum(note.beats < 1 for note in line) / count,
        "dotted": sum(note.beats == 1.5 for note in line) / count,
        "last note": line[-1].beats,
    }


def _returns(line: Sequence[Heard], moves: Sequence[int], measures: int) -> dict[str, float]:
    bars: list[list[Heard]] = [[] for _ in range(measures)]
    for note in line:
        if 0 <= note.measure < measures:
            bars[note.measure].append(note)
    tunes = [tuple((note.beat, note.beats, note.step) for note in bar) for bar in bars]
    rhythms = [tuple((note.beat, note.beats) for note in bar) for bar in bars]
    shapes = [_shape(bar) for bar in bars]
    return {
        "echo of two": _earlier(list(pairwise(moves))),
        "echo of three": _earlier([tuple(moves[at : at + 3]) for at in range(len(moves) - 2)]),
        "echo of four": _earlier([tuple(moves[at : at + 4]) for at in range(len(moves) - 3)]),
        "measures again": _earlier(tunes),
        "rhythms again": _earlier(rhythms),
        "shapes again": _earlier(shapes),
        "half begins again": float(tunes[measures // 2] == tunes[0]),
        "rhythm of half begins again": float(rhythms[measures // 2] == rhythms[0]),
        "rhythm of third measure": float(rhythms[2] == rhythms[0]) if measures > 2 else 0.0,
        "rhythm at once again": sum(a == b for a, b in pairwise(rhythms)) / measures,
    }


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
