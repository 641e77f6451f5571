"""What a line asks of its readers as numbers, and how unlike two lines are in it.

Every atom of a line (`needs.py`) weighs as much as the place of its step in its track: a thing that
was learned lately asks more than do and re. Beside the atoms stand the plain facts that make one
line harder to read than another of the same step: notes, compass, leaps, turns, short notes.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from itertools import pairwise

from bot.music.critic import heard
from bot.music.exercise import Exercise
from bot.music.needs import needs
from bot.music.sequence import Sequence, Track

_BEYOND = 2.0  # what no step brings, as if it stood so much above the highest
_FACTS = {"notes": 1.0, "compass": 1.0, "leaps": 1.0, "turns": 0.5, "short notes": 0.5}
_LEAP = 3  # a fourth, in scale steps


def demand(exercise: Exercise, sequence: Sequence) -> Mapping[str, float]:
    """How much there is to read, by step and by plain fact; the top line alone is looked at.

    A step's figure is the number of its atoms times 1 to 2, from the first step of its track to
    the last; a fact's is its number times its weight.
    """
    places = {
        step.id: 1.0 + number / len(sequence.track(track))
        for track in Track
        for number, step in enumerate(sequence.track(track))
    }
    found: Counter[str] = Counter()
    sums: dict[str, float] = {}
    for atom in needs(exercise, sequence).atoms:
        found[atom.step or f"beyond {atom.kind}"] += 1
    for step, count in found.items():
        sums[step] = count * places.get(step, _BEYOND)
    return sums | {fact: _FACTS[fact] * number for fact, number in _facts(exercise).items()}


def unlike(one: Mapping[str, float], other: Mapping[str, float]) -> float:
    """How far two demands are apart: 0 where both lines ask for exactly the same."""
    return sum(abs(one.get(name, 0.0) - other.get(name, 0.0)) for name in one.keys() | other.keys())


def _facts(exercise: Exercise) -> dict[str, float]:
    line = heard(exercise)
    steps = [note.step for note in line]
    moves = [after - before for before, after in pairwise(steps)]
    return {
        "notes": float(len(line)),
        "compass": float(max(steps) - min(steps)),
        "leaps": float(sum(abs(move) >= _LEAP for move in moves)),
        "turns": float(sum(one * other < 0 for one, other in pairwise(moves))),
        "short notes": float(sum(note.beats < 1 for note in line)),
    }
