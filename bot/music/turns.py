"""The same exercise read another way: backwards, bare rhythm, halves, one tone, parts hidden."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from dataclasses import replace
from enum import StrEnum
from fractions import Fraction
from random import Random

from bot.music.exercise import Exercise, Note, Part, Tone

_DO = Tone(step=0)
_Sung = tuple[Note, int]  # a note, and the number of the syllable under it


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
    """The exercise from its last note to its first, without words; twice gives the notes back.

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
    """Every note on do; lengths, rests, ties and words as they are."""
    return _with_tones(exercise, lambda _: _DO)


def only_tone(exercise: Exercise, tone: Tone) -> Exercise:
    """Only one tone aloud, in every octave; the others are heard inwardly and stand as rests.

    What is sung keeps its words.
    """

    def aloud(other: Tone) -> Tone | None:
        same = other.step % 7 == tone.step % 7 and other.alter == tone.alter
        return other if same else None

    return _with_tones(exercise, aloud)


def echo_halves(exercise: Exercise) -> Exercise:
    """Each half twice: one group sings it, the other sings it after them.

    A half has half of the measures and its own words, and begins with a pickup if the exercise
    does. ValueError for a line that does not fall into two such halves.
    """
    half = exercise.length / 2
    if half % exercise.metre.measure:
        raise ValueError(f"{exercise.measures} measures do not fall into two halves")
    return _turned(exercise, lambda part: _echoed(part, half))


def line_by_line(exercise: Exercise) -> Exercise:
    """Each line by itself, the first first, then all of them at once; ValueError for one line."""
    count = len(exercise.parts)
    if count < 2:
        raise ValueError("there is one line only")
    rest = [(Note(duration=exercise.length), 0)]
    parts = []
    for number, part in enumerate(exercise.parts):
        sung = list(_sung(part))
        parts.append(_part(part, [*rest * number, *sung, *rest * (count - 1 - number), *sung]))
    return replace(exercise, parts=tuple(parts))


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

    A tie out of a hidden measure or into one goes with it; words stay under what is left.
    ValueError where a note that crosses a bar line belongs to a hidden measure only in part.
    """
    return _turned(exercise, lambda part: _left_visible(exercise, part, measures))


def _left_visible(exercise: Exercise, part: Part, measures: Collection[int]) -> Iterator[_Sung]:
    timed = list(part.timed())
    resting = Fraction(0)  # length of the hidden measure so far
    for number, ((offset, note), (_, text)) in enumerate(zip(timed, _sung(part), strict=True)):
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
                yield Note(duration=resting), 0
                resting = Fraction(0)
        else:
            yield replace(note, tied=note.tied and next_measure not in measures), text


def _echoed(part: Part, half: Fraction) -> Sequence[_Sung]:
    sung = list(_sung(part))
    first = [each for each, (offset, _) in zip(sung, part.timed(), strict=True) if offset < half]
    length = sum((note.duration for note, _ in first), Fraction(0))
    if length != half or first[-1][0].tied:
        raise ValueError("a note is held over the middle of the line")
    return first * 2 + sung[len(first) :] * 2


def _with_tones(exercise: Exercise, change: Callable[[Tone], Tone | None]) -> Exercise:
    return _turned(
        exercise, lambda part: [(_changed(note, change), text) for note, text in _sung(part)]
    )


def _changed(note: Note, change: Callable[[Tone], Tone | None]) -> Note:
    tone = None if note.tone is None else change(note.tone)
    return replace(note, tone=tone, tied=note.tied and tone is not None)


def _sung(part: Part) -> Iterator[_Sung]:
    """Each note with the number of its syllable, from 0; a held note has that of the one before."""
    text, held = -1, False
    for note in part.notes:
        text += note.tone is not None and not held
        held = note.tied
        yield note, max(text, 0)


def _turned(exercise: Exercise, turn: Callable[[Part], Iterable[_Sung]]) -> Exercise:
    """The exercise with other notes in each part, and the syllables that belong to them."""
    return replace(exercise, parts=tuple(_part(part, turn(part)) for part in exercise.parts))


def _part(part: Part, turned: Iterable[_Sung]) -> Part:
    notes, struck, held = list[Note](), list[int](), False
    for note, text in turned:
        notes.append(note)
        if note.tone is not None and not held:
            struck.append(text)
        held = note.tied
    words = [
        part.words[text] if after in (text, text + 1) else _alone(part.words[text])
        for text, after in zip(struck, [*struck, len(part.words)][1:], strict=True)
        if part.words
    ]
    return replace(part, notes=tuple(notes), words=tuple(words))


def _alone(text: str) -> str:
    """A syllable of whose word the rest is not sung: no hyphen leads on from it."""
    return text[:-1] if len(text) > 1 and text.endswith("-") else text
