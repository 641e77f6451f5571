"""What music21 finds wrong where parts sound together: the second opinion on every finale."""

from fractions import Fraction
from itertools import combinations, pairwise

from music21 import interval, note, voiceLeading


def faults_by_music21(exercise):
    """Parallel fifths, octaves, unisons between parts that move; dissonance on strong beats."""
    faults = []
    sung = [_sung(exercise, part) for part in range(len(exercise.parts))]
    for one, other in combinations(range(len(sung)), 2):
        offsets = sorted({at for part in (one, other) for at, *_ in sung[part]})
        pairs = [
            (at, a, b)
            for at in offsets
            if (a := _at(sung[one], at)) is not None and (b := _at(sung[other], at)) is not None
        ]
        faults += _dissonances(exercise, pairs)
        faults += _parallels(pairs)
    return faults


def _sung(exercise, part):
    """(start, end, note) of every sung note of a part."""
    return [
        (offset, offset + each.duration, note.Note(_name(exercise.pitch(each.tone, part))))
        for offset, each in exercise.parts[part].timed()
        if each.tone is not None
    ]


def _name(pitch):
    return pitch.plain.replace("b", "-")


def _at(row, offset):
    return next((each for start, end, each in row if start <= offset < end), None)


def _dissonances(exercise, pairs):
    for at, a, b in pairs:
        first = at % exercise.metre.measure == 0
        middle = exercise.metre.beats == 4 and at % exercise.metre.measure == Fraction(1, 2)
        if (first or middle) and not _consonant(a, b):
            yield f"dissonance {a.nameWithOctave} {b.nameWithOctave} at {at}"


def _consonant(a, b):
    """Consonant, with the fourth allowed that two upper voices may form in three parts."""
    between = interval.Interval(min(a, b), max(a, b))
    return between.isConsonant() or between.semiSimpleName == "P4"


def _parallels(pairs):
    for (_, a, b), (at, c, d) in pairwise(pairs):
        moving = a.pitch != c.pitch and b.pitch != d.pitch
        quartet = voiceLeading.VoiceLeadingQuartet(a, c, b, d)
        if moving and (
            quartet.parallelFifth() or quartet.parallelOctave() or quartet.parallelUnison()
        ):
            yield f"parallel at {at}"
