"""Parallel fifths and octaves that a rest only hides.

Two parts that stand a fifth apart, of which one is silent for a beat and both then move to the next
fifth, still sound hollow. Finales are held to this; readings are not.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import combinations, pairwise

from bot.music.exercise import Exercise

_PERFECT = (0, 7)  # semitones


def parallels_over_rests(exercise: Exercise) -> tuple[Fraction, ...]:
    """Offsets (in whole notes) at which two parts come to a second fifth, octave or unison."""
    rows = [_heights(exercise, part) for part in range(len(exercise.parts))]
    found = set()
    for one, other in combinations(rows, 2):
        both = [(at, one[at], other[at]) for at in sorted(one.keys() & other.keys())]
        for (_, a, b), (at, c, d) in pairwise(both):
            same = abs(a - b) % 12 == abs(c - d) % 12
            if same and abs(a - b) % 12 in _PERFECT and (c - a) * (d - b) > 0:
                found.add(at)
    return tuple(sorted(found))


def _heights(exercise: Exercise, part: int) -> dict[Fraction, int]:
    """The height that sounds in a part at each moment when any part begins a note."""
    moments = sorted({at for each in exercise.parts for at, _ in each.timed()})
    sounding: dict[Fraction, int] = {}
    for start, note in exercise.parts[part].timed():
        for at in moments:
            if note.tone is not None and start <= at < start + note.duration:
                sounding[at] = exercise.pitch(note.tone, part).midi
    return sounding
