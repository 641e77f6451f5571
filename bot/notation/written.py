"""An exercise as it stands on the page: values cut at bar lines and joined by ties.

An `Exercise` may hold a note that no single note value can write, or that crosses a bar line. Here
it becomes what an engraver writes; MusicXML, the text alternative and the reader's tests share it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction

from bot.music.exercise import Exercise, Note, Tone
from bot.music.rhythm import Metre, NoteValue, note_value

_SMALLEST = Fraction(1, 32)


@dataclass(frozen=True, slots=True, kw_only=True)
class WrittenNote:
    """One sign on the page: a note, or a rest where `tone` is None.

    `offset` and `duration` in whole notes, counted from the start of the exercise. `value` is None
    only for a rest that fills its measure. `tied` leads to the next note, `held` comes from one.
    """

    offset: Fraction
    duration: Fraction
    value: NoteValue | None
    tone: Tone | None = None
    tied: bool = False
    held: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class WrittenMeasure:
    """One measure of one part. A pickup has number 0; `length` is what really sounds in it."""

    number: int
    offset: Fraction
    length: Fraction
    notes: tuple[WrittenNote, ...]


def written_measures(exercise: Exercise, part: int = 0) -> tuple[WrittenMeasure, ...]:
    """Return a part measure by measure; ValueError for a length that no note value can write."""
    notes = _written_notes(exercise, part)
    measures = []
    for number, start, end in _bars(exercise):
        inside = tuple(note for note in notes if start <= note.offset < end)
        measures.append(
            WrittenMeasure(number=number, offset=start, length=end - start, notes=inside)
        )
    return tuple(measures)


def as_written(exercise: Exercise) -> Exercise:
    """Return the same music with every note as written; doing it twice changes nothing."""
    parts = []
    for index, part in enumerate(exercise.parts):
        notes = tuple(
            Note(duration=note.duration, tone=note.tone, tied=note.tied)
            for measure in written_measures(exercise, index)
            for note in measure.notes
        )
        parts.append(replace(part, notes=notes))
    return replace(exercise, parts=tuple(parts))


def _bars(exercise: Exercise) -> Iterator[tuple[int, Fraction, Fraction]]:
    """Yield (number, start, end) of every measure."""
    start, number = Fraction(0), 1
    if exercise.pickup:
        yield 0, start, exercise.pickup
        start = exercise.pickup
    while start < exercise.length:
        end = min(start + exercise.metre.measure, exercise.length)
        yield number, start, end
        start, number = end, number + 1


def _written_notes(exercise: Exercise, part: int) -> list[WrittenNote]:
    written: list[WrittenNote] = []
    held = False
    lead = exercise.metre.measure - exercise.pickup if exercise.pickup else Fraction(0)
    for offset, note in exercise.parts[part].timed():
        pieces = list(_pieces(offset + lead, note, exercise.metre))
        for index, (start, duration, value) in enumerate(pieces):
            last = index == len(pieces) - 1
            tied = note.tone is not None and (note.tied or not last)
            written.append(
                WrittenNote(
                    offset=start - lead,
                    duration=duration,
                    value=value,
                    tone=note.tone,
                    tied=tied,
                    held=held and note.tone is not None,
                )
            )
            held = tied
    return written


def _pieces(
    start: Fraction, note: Note, metre: Metre
) -> Iterator[tuple[Fraction, Fraction, NoteValue | None]]:
    """Yield (start, duration, value) of a note, cut where it must be.

    `start` counts from a bar line.
    """
    if note.duration % _SMALLEST:
        raise ValueError(f"a length of {note.duration} whole notes: no note value writes it")
    inside = start % metre.measure
    room = metre.measure - inside
    value = note_value(note.duration)
    if note.tone is None and inside == 0 and note.duration == room:
        yield start, note.duration, None
    elif note.duration <= room and value is not None:
        yield start, note.duration, value
    else:
        first = room if note.duration > room else _cut(inside, note.duration, metre)
        yield from _pieces(start, replace(note, duration=first), metre)
        yield from _pieces(start + first, replace(note, duration=note.duration - first), metre)


def _cut(inside: Fraction, duration: Fraction, metre: Metre) -> Fraction:
    """Choose where a note within a measure is cut: at the strongest beat inside it.

    Among equal beats both pieces should be one value each and about as long as one another.
    """
    grid = metre.pulse
    while True:
        first = (inside // grid + 1) * grid - inside
        cuts = [first + grid * n for n in range(int(duration / grid) + 1)]
        cuts = [cut for cut in cuts if cut < duration]
        if cuts:
            return max(cuts, key=lambda cut: _merit(inside, cut, duration, metre))
        grid = grid / 3 if metre.compound and grid == metre.pulse else grid / 2


def _merit(
    inside: Fraction, cut: Fraction, duration: Fraction, metre: Metre
) -> tuple[int, bool, Fraction, Fraction]:
    whole = note_value(cut) is not None and note_value(duration - cut) is not None
    return metre.strength(inside + cut), whole, -abs(duration - 2 * cut), cut
