"""The same exercise read another way: backwards, bare rhythm, halves, one tone, parts hidden."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator
from dataclasses import replace
from enum import StrEnum
from fractions import Fraction
from random import Random

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
        parts=tuple(part.wordless(_backwards(part.notes)) for part in exercise.parts),
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
        part.wordless(notes * 2 + rest * 2)
        for part in exercise.parts
        for notes, rest in [_cut(part, half)]
    )
    return replace(exercise, parts=parts)


def measures_to_hide(measures: int, seed: int) -> tuple[int, ...]:
    """Which measures of a line to cover: a third of them, never the first, never two in a row.

    The last is left too, so that the line is begun and ended from the page. Empty for a line of
    fewer than three measures.
    """
    dice, hidden = Random(seed), set[int]()  # noqa: S311 -- a place on a page
    inside = list(range(2, measures))
    dice.shuffle(inside)
    for measure in inside:
        if len(hidden) < max(1, measures // 3) and not {measure - 1, measure + 1} & hidden:
            hidden.add(measure)
    return tuple(sorted(hidden))


def hidden_measures(exercise: Exercise, measures: Collection[int]) -> Exercise:
    """The exercise with one rest for each of these measures, counted from 1: what is left to see.

    A tie out of a hidden measure or into one goes with it. ValueError where a note that crosses a
    bar line belongs to a hidden measure only in part.
    """
    return replace(
        exercise,
        parts=tuple(
            replace(part, notes=tuple(_left_visible(exercise, part, measures)))
            for part in exercise.parts
        ),
    )


def _left_visible(exercise: Exercise, part: Part, measures: Collection[int]) -> Iterator[Note]:
    timed = list(part.timed())
    resting = Fraction(0)  # length of the hidden measure so far
    for number, (offset, note) in enumerate(timed):
        here = exercise.place(offset)[0]
        end = (offset + note.duration - exercise.pickup) / exercise.metre.measure
        if (
            offset >= exercise.pickup
            and end > here
            and (here in measures) != (here + 1 in measures)
        ):
            raise ValueError(f"a note of measure {here} goes on in the next")
        follows = timed[number + 1][0] if number + 1 < len(timed) else exercise.length
        next_measure = exercise.place(follows)[0]
        if offset >= exercise.pickup and here in measures:
            resting += note.duration
            if next_measure != here or follows == exercise.length:
                yield Note(duration=resting)
                resting = Fraction(0)
        else:
            yield replace(note, tied=note.tied and next_measure not in measures)


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
            part.wordless(tuple(_changed(note, change) for note in part.notes))
            for part in exercise.parts
        ),
    )


def _changed(note: Note, change: Callable[[Tone], Tone | None]) -> Note:
    tone = None if note.tone is None else change(note.tone)
    return replace(note, tone=tone, tied=note.tied and tone is not None)
