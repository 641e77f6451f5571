"""The same exercise read another way: backwards, as bare rhythm, half by half, one tone aloud."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from enum import StrEnum
from fractions import Fraction

from bot.music.exercise import Exercise, Note, Part, Tone

_DO = Tone(step=0)


class Turn(StrEnum):
    """A turn that every exercise can take."""

    RETROGRADE = "retrograde"
    RHYTHM_ONLY = "rhythm-only"


def turned(exercise: Exercise, turn: Turn) -> Exercise:
    """The exercise in that turn."""
    match turn:
        case Turn.RETROGRADE:
            return retrograde(exercise)
        case Turn.RHYTHM_ONLY:
            return rhythm_only(exercise)


def retrograde(exercise: Exercise) -> Exercise:
    """The exercise from its last note to its first; twice gives the exercise back.

    A tie binds the same two notes as before. Bar lines stay between the notes between which they
    were, so a short last measure becomes the pickup, and the pickup the short last measure.
    """
    return replace(
        exercise,
        parts=tuple(replace(part, notes=_backwards(part.notes)) for part in exercise.parts),
        pickup=(exercise.length - exercise.pickup) % exercise.metre.measure,
    )


def _backwards(notes: tuple[Note, ...]) -> tuple[Note, ...]:
    # A note is tied to the one behind it, and that is now the one that stood before it.
    ties = [False, *(note.tied for note in notes[:-1])]
    return tuple(
        replace(note, tied=tied) for note, tied in zip(reversed(notes), reversed(ties), strict=True)
    )


def rhythm_only(exercise: Exercise) -> Exercise:
    """Every note on do; lengths, rests and ties as they are."""
    return _with_tones(exercise, lambda _: _DO)


def only_tone(exercise: Exercise, tone: Tone) -> Exercise:
    """Only one tone aloud, in every octave; the others are heard inwardly and stand as rests."""

    def aloud(other: Tone) -> Tone | None:
        same = other.step % 7 == tone.step % 7 and other.alter == tone.alter
        return other if same else None

    return _with_tones(exercise, aloud)


def echo_halves(exercise: Exercise) -> Exercise:
    """Each half twice: one group sings it, the other sings it after them.

    A half has half of the measures, and begins with a pickup if the exercise does. ValueError
    for a line that does not fall into two such halves.
    """
    half = exercise.length / 2
    if half % exercise.metre.measure:
        raise ValueError(f"{exercise.measures} measures do not fall into two halves")
    parts = tuple(
        replace(part, notes=notes * 2 + rest * 2)
        for part in exercise.parts
        for notes, rest in [_cut(part, half)]
    )
    return replace(exercise, parts=parts)


def _cut(part: Part, at: Fraction) -> tuple[tuple[Note, ...], tuple[Note, ...]]:
    first = tuple(note for offset, note in part.timed() if offset < at)
    length = sum((note.duration for note in first), Fraction(0))
    if length != at or first[-1].tied:
        raise ValueError("a note is held over the middle of the line")
    return first, part.notes[len(first) :]


def _with_tones(exercise: Exercise, change: Callable[[Tone], Tone | None]) -> Exercise:
    return replace(
        exercise,
        parts=tuple(
            replace(part, notes=tuple(_changed(note, change) for note in part.notes))
            for part in exercise.parts
        ),
    )


def _changed(note: Note, change: Callable[[Tone], Tone | None]) -> Note:
    tone = None if note.tone is None else change(note.tone)
    return replace(note, tone=tone, tied=note.tied and tone is not None)
