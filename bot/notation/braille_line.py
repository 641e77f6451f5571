"""Music braille line by line: measures are written on a line for as long as it has room."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from bot.music.exercise import Exercise
from bot.music.pitch import Pitch
from bot.notation.accidental import printed_accidentals
from bot.notation.braille_sign import HYPHEN, REST, needs_octave, note_sign, number, value_signs
from bot.notation.written import WrittenMeasure, WrittenNote, written_measures

_MOST_SPELLED = 3  # measures of rest that are written one by one
_Item = tuple[WrittenNote, str, bool]  # a note, its value sign, whether its accidental is written


def accidentals_of(exercise: Exercise, part: int) -> Mapping[Fraction, bool]:
    """Say by offset which notes and rests of a part have an accidental in print."""
    measures = written_measures(exercise, part)
    notes = [note for measure in measures for note in measure.notes]
    printed = printed_accidentals(exercise, part, measures)
    return {note.offset: sign for note, sign in zip(notes, printed, strict=True)}


def is_silent(measure: WrittenMeasure) -> bool:
    """Whether a measure has one rest that fills it."""
    return [note.value for note in measure.notes] == [None]


@dataclass(slots=True, kw_only=True)
class MusicLines:
    """Lines of music as they are written.

    `text` holds what stands on the first line already, `indent` what every further one begins with.
    `accidentals` says by offset which notes have one in print, `after` what stands behind a note,
    `before` is the note whose octave the reader knows.
    """

    exercise: Exercise
    part: int
    cells: int
    accidentals: Mapping[Fraction, bool]
    text: list[str]
    indent: str = "  "
    after: Mapping[Fraction, str] = field(default_factory=dict)
    before: Pitch | None = None

    def add(self, run: Sequence[WrittenMeasure], end: str) -> None:
        """Write a measure, or a run of silent ones, on this line or the next."""
        if is_silent(run[0]):
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
            self.text.append(self.indent + signs)
            self.before = None

    def _over(self, items: Sequence[_Item], end: str) -> None:
        """Begin a line with a measure; divide it with hyphens where it is longer than a line."""
        rest = list(items)
        while True:
            signs = self._signs(rest, None)
            room = self.cells - len(self.indent)
            if len("".join(signs)) + len(end) <= room:
                self.text.append(self.indent + "".join(signs) + end)
                return
            fits = self._fitting(rest, signs, room - len(HYPHEN))
            self.text.append(self.indent + "".join(signs[:fits]) + HYPHEN)
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
            sign = note_sign(note, pitch, octave=octave, accidental=accidental)
            signs.append(told + sign + self.after.get(note.offset, ""))
            before = pitch or before
        return signs

    def _last(self, items: Sequence[_Item]) -> Pitch | None:
        pitches = [pitch for note, _, _ in items if (pitch := self._pitch(note))]
        return pitches[-1] if pitches else None

    def _pitch(self, note: WrittenNote) -> Pitch | None:
        return None if note.tone is None else self.exercise.pitch(note.tone, self.part)
