"""An exercise as ABC (standard 2.1), which `abc.py` and other programs read back."""

from __future__ import annotations

from fractions import Fraction
from itertools import groupby

from bot.music.exercise import Exercise
from bot.music.pitch import Mode, Pitch
from bot.music.rhythm import EIGHTH, QUARTER
from bot.notation.written import WrittenMeasure, WrittenNote, written_measures

_ACCIDENTALS = {-2: "__", -1: "_", 0: "=", 1: "^", 2: "^^"}
_UNIT = EIGHTH
_MEASURES_IN_LINE = 4
_MIDDLE_OCTAVE = 4  # capitals begin at middle C


def exercise_to_abc(exercise: Exercise, *, title: str = "", number: int = 1) -> str:
    """Write an exercise; values are cut at bar lines and tied, as on the page.

    Every altered note carries its accidental, and so does the next of its letter in the bar: then
    all programs read the same, whether or not their accidentals hold in other octaves.
    """
    key, metre = exercise.key, exercise.metre
    minor = "m" if key.mode is Mode.MINOR else ""
    header = [
        f"X:{number}",
        *([f"T:{' '.join(title.split())}"] if title.strip() else []),
        f"M:{'C|' if metre.cut else metre}",
        f"L:{_UNIT}",
        f"K:{key.tonic.plain}{minor}",
    ]
    body: list[str] = []
    for part in range(len(exercise.parts)):
        body += [f"V:{part + 1}"] if len(exercise.parts) > 1 else []
        body += _lines(exercise, part)
    return "\n".join([*header, *body]) + "\n"


def _lines(exercise: Exercise, part: int) -> list[str]:
    measures = written_measures(exercise, part)
    usual = {pitch.letter: pitch.alter for pitch in _scale(exercise)}
    texts = [_measure(exercise, part, measure, usual) for measure in measures]
    start = 1 if exercise.pickup else 0
    ends = [*range(start + _MEASURES_IN_LINE, len(texts), _MEASURES_IN_LINE), len(texts)]
    words = iter(exercise.parts[part].words)
    lines, begin = [], 0
    for end in ends:
        lines.append(" | ".join(texts[begin:end]) + (" |]" if end == len(texts) else " |"))
        if exercise.parts[part].words:
            notes = [note for measure in measures[begin:end] for note in measure.notes if note.tone]
            lines.append("w: " + " ".join("_" if n.held else _plain(next(words)) for n in notes))
        begin = end
    return lines


def _plain(word: str) -> str:
    """A text under a note as ABC has it: signs that mean something there are escaped."""
    goes_on = len(word) > 1 and word.endswith("-")
    body = word[:-1] if goes_on else word
    escaped = "".join(f"\\{sign}" if sign in "-_*|~\\" else sign for sign in body)
    return escaped.replace("\N{THIN SPACE}", "~") + ("-" if goes_on else "")


def _scale(exercise: Exercise) -> list[Pitch]:
    return [exercise.key.pitch(step, 0, _MIDDLE_OCTAVE) for step in range(7)]


def _measure(exercise: Exercise, part: int, measure: WrittenMeasure, usual: dict[str, int]) -> str:
    """Write a bar; notes shorter than a beat stand together, as their beams do."""
    said: dict[str, int] = {}
    signs = [
        (_beam(exercise, note), _sign(exercise, part, note, said, usual)) for note in measure.notes
    ]
    return " ".join("".join(text for _, text in run) for _, run in groupby(signs, lambda s: s[0]))


def _beam(exercise: Exercise, note: WrittenNote) -> Fraction:
    """Name the group that a note stands in; longer notes stand in one of their own."""
    alone = note.tone is None or note.duration >= QUARTER
    pulse = exercise.metre.pulse
    lead = exercise.metre.measure - exercise.pickup
    return -1 - note.offset if alone else (note.offset + lead) // pulse * pulse


def _sign(
    exercise: Exercise, part: int, note: WrittenNote, said: dict[str, int], usual: dict[str, int]
) -> str:
    length = _length(note.duration / _UNIT)
    if note.tone is None:
        return "z" + length
    pitch = exercise.pitch(note.tone, part)
    needed = pitch.alter != usual[pitch.letter] or pitch.letter in said
    accidental = _ACCIDENTALS[pitch.alter] if needed else ""
    if needed:
        said[pitch.letter] = pitch.alter
    return accidental + _letter(pitch) + length + ("-" if note.tied else "")


def _letter(pitch: Pitch) -> str:
    above = pitch.octave - _MIDDLE_OCTAVE
    return pitch.letter.lower() + "'" * (above - 1) if above > 0 else pitch.letter + "," * -above


def _length(units: Fraction) -> str:
    above = "" if units.numerator == 1 else str(units.numerator)
    return above if units.denominator == 1 else f"{above}/{units.denominator}"
