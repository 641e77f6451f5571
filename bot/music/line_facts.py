"""Plain facts about a whole line, by name: what the critic knows of it.

Those of the rhythm alone are known before any tone is; `facts` gives them all.
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from itertools import pairwise
from typing import NamedTuple

_TRIAD = frozenset((0, 2, 4))
_LEAP = 3  # a fourth, in scale steps
_LENGTHS = (0.25, 0.5, 0.75, 1.0, 1.5, 2.0)  # in beats


class Heard(NamedTuple):
    """A note as it is heard: measure from 0, place and length in beats, steps above the tonic."""

    measure: int
    beat: float
    beats: float
    step: int


class Timing:
    """When the notes of a line come, whatever their tones: looked at once for all lines over it.

    `bars` has the numbers of the first note of each measure and of the one behind its last;
    `rhythms` a number for each measure, the same for the same rhythm; `half`, `opening` and `again`
    the notes of the first half, of the first measure with a pickup, and of the measure where the
    second half begins; `strong` and `weak` those on first beats and between beats.
    """

    def __init__(self, line: Sequence[Heard], measures: int) -> None:
        self.notes, self.measures = len(line), measures
        bars = [[n for n, note in enumerate(line) if note.measure == at] for at in range(measures)]
        self.bars = [slice(bar[0], bar[-1] + 1) if bar else slice(0) for bar in bars]
        numbers: dict[tuple[tuple[float, float], ...], int] = {}
        self.rhythms = [
            numbers.setdefault(tuple((each.beat, each.beats) for each in line[bar]), len(numbers))
            for bar in self.bars
        ]
        last = line[-1].measure
        self.half = slice(sum(note.measure * 2 <= last for note in line))
        self.opening = slice(sum(note.measure <= 0 for note in line))
        self.again = self.bars[(last + 1) // 2]
        self.strong = [n for n, note in enumerate(line) if note.beat == 0]
        self.weak = [n for n, note in enumerate(line) if note.beat % 1]
        self.facts = self._facts([note.beats for note in line])

    def _facts(self, lengths: Sequence[float]) -> dict[str, float]:
        count, measures, half = self.notes, self.measures, self.measures // 2
        bars, rhythms = self.bars, self.rhythms
        before_half = lengths[bars[half - 1]]
        found = {f"{size:g} beats long": lengths.count(size) / count for size in _LENGTHS}
        return found | {
            "notes a measure": count / measures,
            "longer than two beats": sum(each > 2 for each in lengths) / count,
            "last note": lengths[-1],
            "last of the half": before_half[-1] if before_half else 0.0,
            "notes before the half": float(len(before_half)),
            "notes at the end": float(len(lengths[bars[-1]])),
            "rhythms again": _earlier(rhythms),
            "rhythm of half begins again": float(rhythms[half] == rhythms[0]),
            "rhythm of second measure": float(rhythms[1] == rhythms[0]) if measures > 1 else 0.0,
            "rhythm of third measure": float(rhythms[2] == rhythms[0]) if measures > 2 else 0.0,
            "rhythm at once again": sum(a == b for a, b in pairwise(rhythms)) / measures,
        }


def facts(line: Sequence[Heard], measures: int) -> dict[str, float]:
    """Every fact by name: shares, counts and means of one line of two notes at least."""
    timing = Timing(line, measures)
    return timing.facts | tone_facts(timing, [note.step for note in line])


def rhythm_facts(line: Sequence[Heard], measures: int) -> dict[str, float]:
    """The facts that need no tone."""
    return Timing(line, measures).facts


def tone_facts(timing: Timing, steps: Sequence[int]) -> dict[str, float]:
    """The facts that need tones: `steps` above the tonic, one for each note."""
    moves = [after - before for before, after in pairwise(steps)]
    return (
        _motion(moves)
        | _curve(timing, steps)
        | _degrees(timing, steps)
        | _returns(timing, steps, moves)
    )


def _motion(moves: Sequence[int]) -> dict[str, float]:
    pairs = list(pairwise(moves))
    turns = [a * b for a, b in pairs]
    sizes = [abs(move) for move in moves]
    count = len(moves)
    leaps = sum(size >= _LEAP for size in sizes)
    return {
        "repeats": sizes.count(0) / count,
        "steps": sizes.count(1) / count,
        "thirds": sizes.count(2) / count,
        "leaps": leaps / count,
        "wide leaps": sum(size > 4 for size in sizes) / count,
        "rises": sum(move > 0 for move in moves) / count,
        "turns": sum(turn < 0 for turn in turns) / count,
        "goes on": sum(turn > 0 for turn in turns) / count,
        "two steps on": (pairs.count((1, 1)) + pairs.count((-1, -1))) / count,
        "to and fro": sum(a == -b != 0 for a, b in pairs) / count,
        "leaps unanswered": sum(
            turn >= 0 and abs(a) >= _LEAP for turn, a in zip(turns, moves, strict=False)
        )
        / count,
        "count of leaps": float(leaps),
        "longest repeat": float(_longest(moves)),
    }


def _longest(moves: Sequence[int]) -> int:
    best = now = 1
    for move in moves:
        now = now + 1 if move == 0 else 1
        best = max(best, now)
    return best


def _curve(timing: Timing, steps: Sequence[int]) -> dict[str, float]:
    count, top, low = len(steps), max(steps), min(steps)
    mean = sum(steps) / count
    half, opening, again = steps[timing.half], steps[timing.opening], steps[timing.again] or [0]
    return {
        "compass": float(top - low),
        "top": float(top),
        "height": mean,
        "spread": (sum([(step - mean) ** 2 for step in steps]) / count) ** 0.5,
        "tops": float(steps.count(top)),
        "first top": steps.index(top) / count,
        "rise of the second half": mean - sum(half) / len(half),
        "height of the first measure": sum(opening) / len(opening),
        "height where the half begins": sum(again) / len(again),
    }


def _degrees(timing: Timing, steps: Sequence[int]) -> dict[str, float]:
    degrees = [step % 7 for step in steps]
    names = ("do", "re", "mi", "fa", "so", "la", "ti")
    shares = {name: degrees.count(at) / len(degrees) for at, name in enumerate(names)}
    return shares | {
        "begins on do": float(degrees[0] == 0),
        "tonic on first beats": _tonic([degrees[note] for note in timing.strong]),
        "tonic between beats": _tonic([degrees[note] for note in timing.weak]),
    }


def _tonic(degrees: Sequence[int]) -> float:
    return sum(degree in _TRIAD for degree in degrees) / max(1, len(degrees))


def _returns(timing: Timing, steps: Sequence[int], moves: Sequence[int]) -> dict[str, float]:
    bars = [tuple(steps[bar]) for bar in timing.bars]
    tunes = list(zip(timing.rhythms, bars, strict=True))
    # Two measures have one shape where the second has the rhythm of the first and moves as it does.
    shapes = [(rhythm, tuple([step - bar[0] for step in bar])) for rhythm, bar in tunes]
    return {
        "echo of two": _earlier(list(pairwise(moves))),
        "echo of three": _earlier(list(zip(moves, moves[1:], moves[2:], strict=False))),
        "echo of four": _earlier(list(zip(moves, moves[1:], moves[2:], moves[3:], strict=False))),
        "measures again": _earlier(tunes),
        "shapes again": _earlier(shapes),
        "half begins again": float(tunes[len(tunes) // 2] == tunes[0]),
    }


def _earlier(rows: Sequence[Hashable]) -> float:
    """Share of rows that stand earlier in the sequence too."""
    return (len(rows) - len(set(rows))) / max(1, len(rows))
