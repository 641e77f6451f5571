"""An exercise as music braille: a BRF file that every embosser and braille display reads.

Part by part, each in short paragraphs that begin with the number of their first measure, as the
books of exercises have it. Key and time stand over the music. A measure is not divided unless it is
longer than a line.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import groupby

from bot.music.exercise import Exercise
from bot.music.pitch import Pitch
from bot.notation.accidental import printed_accidentals
from bot.notation.braille_sign import (
    END,
    HYPHEN,
    REST,
    heading,
    literary,
    needs_octave,
    note_sign,
    number,
    value_signs,
)
from bot.notation.written import WrittenMeasure, WrittenNote, written_measures

_INDENT = "  "  # of the lines on which a paragraph goes on
_MOST_SPELLED = 3  # measures of rest that are written one by one
_Item = tuple[WrittenNote, str, bool]  # a note, its value sign, whether its accidental is written


def brf(
    exercise: Exercise,
    *,
    title: str = "",
    labels: tuple[str, ...] = (),
    cells: int = 40,
    lines: int = 25,
    paragraph: int = 4,
) -> str:
    """Write an exercise in braille ASCII with CR LF line ends and a form feed after each page.

    `labels` name the parts where there is more than one; without them they are numbered.
    `paragraph` is how many measures each paragraph has, 0 for one paragraph. Equal input gives
    equal text. ValueError for a line or page too short for any music, or labels that do not match.
    """
    parts = range(len(exercise.parts))
    if cells < 12 or lines < 2 or len(labels) not in (0, len(parts)):
        raise ValueError(
            f"{cells} cells, {lines} lines, {len(labels)} labels for {len(parts)} parts"
        )
    text = [*_broken(literary(title), cells), heading(exercise).center(cells).rstrip()]
    for part in parts:
        if len(parts) > 1:
            text += _broken(literary(labels[part]) if labels else number(part + 1), cells)
        text += _part(exercise, part, cells, paragraph)
    pages = [text[begin : begin + lines] for begin in range(0, len(text), lines)]
    return "".join("".join(line + "\r\n" for line in page) + "\f" for page in pages)


def _broken(words: str, cells: int) -> list[str]:
    """Centre words, on several lines where one is too short."""
    rows: list[str] = []
    for word in words.split():
        if rows and len(rows[-1]) + 1 + len(word) <= cells:
            rows[-1] += f" {word}"
        else:
            rows.append(word[:cells])
    return [row.center(cells).rstrip() for row in rows]


def _part(exercise: Exercise, part: int, cells: int, paragraph: int) -> list[str]:
    measures = written_measures(exercise, part)
    size = paragraph or len(measures)
    notes = [note for measure in measures for note in measure.notes]
    printed = printed_accidentals(exercise, part, measures)
    accidentals = {note.offset: sign for note, sign in zip(notes, printed, strict=True)}
    text: list[str] = []
    for _, group in groupby(measures, lambda each: max(each.number - 1, 0) // size):
        inside = list(group)
        writer = _Paragraph(exercise=exercise, part=part, cells=cells, accidentals=accidentals)
        writer.text.append(number(inside[0].number))
        for run in _runs(inside):
            writer.add(run, END if run[-1] is measures[-1] else "")
        text += writer.text
    return text


def _runs(measures: Sequence[WrittenMeasure]) -> Iterator[list[WrittenMeasure]]:
    """Yield measures one by one, but silent ones in a row together."""
    for silent, group in groupby(measures, _silent):
        if silent:
            yield list(group)
        else:
            yield from ([measure] for measure in group)


def _silent(measure: WrittenMeasure) -> bool:
    return [note.value for note in measure.notes] == [None]


@dataclass(slots=True, kw_only=True)
class _Paragraph:
    """A paragraph as it is written.

    `accidentals` says by offset which notes have one in print, `before` is the note whose octave
    the reader knows.
    """

    exercise: Exercise
    part: int
    cells: int
    accidentals: Mapping[Fraction, bool]
    text: list[str] = field(default_factory=list)
    before: Pitch | None = None

    def add(self, run: Sequence[WrittenMeasure], end: str) -> None:
        """Write a measure, or a run of silent ones, on this line or the next."""
        if _silent(run[0]):
            count = len(run)
            rests = REST * count if count <= _MOST_SPELLED else number(count) + REST
            self._place(rests + end)
            return
        measure = run[0]
        full = measure.length == self.exercise.metre.measure
        told = value_signs(measure.notes, self.exercise.metre, full=full)
        items = [
            (note, sign, self.accidentals[note.offset])
            for note, sign in zip(measure.notes, told, strict=True)
        ]
        here = "".join(self._signs(items, self.before)) + end
        if len(self.text[-1]) + 1 + len(here) <= self.cells:
            self.text[-1] += f" {here}"
        else:
            self._over(items, end)
        self.before = self._last(items) or self.before

    def _place(self, signs: str) -> None:
        if len(self.text[-1]) + 1 + len(signs) <= self.cells:
            self.text[-1] += f" {signs}"
        else:
            self.text.append(_INDENT + signs)
            self.before = None

    def _over(self, items: Sequence[_Item], end: str) -> None:
        """Begin a line with a measure; divide it with hyphens where it is longer than a line."""
        rest = list(items)
        while True:
            signs = self._signs(rest, None)
            room = self.cells - len(_INDENT)
            if len("".join(signs)) + len(end) <= room:
                self.text.append(_INDENT + "".join(signs) + end)
                return
            fits = self._fitting(rest, signs, room - len(HYPHEN))
            self.text.append(_INDENT + "".join(signs[:fits]) + HYPHEN)
            rest = rest[fits:]

    def _fitting(self, items: Sequence[_Item], signs: Sequence[str], room: int) -> int:
        """Return how many signs stay on a line: up to a beat if any beat begins there."""
        fits = sum(len("".join(signs[: count + 1])) <= room for count in range(len(signs)))
        lead = -self.exercise.pickup
        pulse = self.exercise.metre.pulse
        beats = [
            count
            for count in range(1, fits + 1)
            if count < len(items) and (items[count][0].offset + lead) % pulse == 0
        ]
        return max(beats[-1] if beats else fits, 1)

    def _signs(self, items: Sequence[_Item], before: Pitch | None) -> list[str]:
        signs = []
        for note, told, accidental in items:
            pitch = self._pitch(note)
            octave = pitch is not None and needs_octave(before, pitch)
            signs.append(told + note_sign(note, pitch, octave=octave, accidental=accidental))
            before = pitch or before
        return signs

    def _last(self, items: Sequence[_Item]) -> Pitch | None:
        pitches = [pitch for note, _, _ in items if (pitch := self._pitch(note))]
        return pitches[-1] if pitches else None

    def _pitch(self, note: WrittenNote) -> Pitch | None:
        return None if note.tone is None else self.exercise.pitch(note.tone, self.part)
