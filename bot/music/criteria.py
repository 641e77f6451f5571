"""What a published reading asks for, as values (`parse_criteria` reads them)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from fractions import Fraction

from bot.errors import Fault, InputProblems
from bot.music.cell import Cell, CellNote
from bot.music.exercise import Tone
from bot.music.pitch import Key, Pitch
from bot.music.rhythm import Metre
from bot.music.sequence import Skip
from bot.music.voice import Voice


class Reads(StrEnum):
    """What is judged of a line: pitch and rhythm, or rhythm alone."""

    MELODY = "melody"
    RHYTHM = "rhythm"


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """One reading of a published criterion.

    `keys` hold what is printed for each voice; a voice that is missing may be in any key. `tones`
    and `skips` (the lower tone first) are None where the text sets no limit, `triads` are chords
    between whose tones any skip is allowed, `intervals` sizes in scale steps (2 is a third).
    `values` are single notes and rests that may stand; None where the rhythm has to be made of
    `cells`, which are also what lines are composed from. `alike` pairs measures, from 1, that are
    equal note for note. `skips_from` is the first measure that may have a skip. `half_cadence` is
    the measure that ends on a tone of V.
    """

    id: str
    name: str
    reads: Reads
    measures: int
    metres: tuple[Metre, ...]
    cells: tuple[Cell, ...]
    keys: Mapping[Voice, tuple[Key, ...]]
    values: tuple[CellNote, ...] | None = None
    tones: tuple[Tone, ...] | None = None
    skips: tuple[Skip, ...] | None = None
    triads: tuple[frozenset[int], ...] = ()
    intervals: tuple[int, ...] = ()
    start: tuple[Tone, ...] | None = None
    end: tuple[Tone, ...] | None = None
    skips_on_beat: bool = False
    skips_from: int = 1
    alike: tuple[tuple[int, int], ...] = ()
    half_cadence: int | None = None
    full_cadence: bool = False

    def may_skip(self, low: Tone, high: Tone) -> bool:
        """Whether the text allows to go from one of two tones to the other, not by step."""
        if self.skips is None:
            return True
        return (
            (low, high) in self.skips
            or high.step - low.step in self.intervals
            or any({low.step % 7, high.step % 7} <= triad for triad in self.triads)
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Criteria:
    """A published criterion: who asks for it, where that was read and when, and its readings.

    `span` is the widest line in semitones. `study_s` are seconds to study it, None where the text
    that was read does not say. `open` are points that the text left open, each a sentence.
    """

    id: str
    title: str
    body: str
    source: str
    dated: str
    read_on: date
    tasks: tuple[Task, ...]
    ranges: Mapping[Voice, tuple[Pitch, Pitch]]
    span: int | None = None
    study_s: int | None = None
    open: tuple[str, ...] = ()

    def task(self, task_id: str) -> Task:
        """The reading of an id; InputProblems names those that there are."""
        for task in self.tasks:
            if task.id == task_id:
                return task
        known = ", ".join(f"{self.id}/{task.id}" for task in self.tasks)
        place = f"{self.id}/{task_id}"
        raise InputProblems([Fault(place=place, problem="no such reading", remedy=known)])


def anywhere(cell: Cell, metres: tuple[Metre, ...]) -> Cell:
    """The same cell, allowed at every beat of every metre where it fits into the measure."""
    beats = tuple(
        (
            metre,
            tuple(
                Fraction(beat)
                for beat in range(1, metre.pulses + 1)
                if Fraction(beat - 1) * metre.pulse + cell.duration <= metre.measure
            ),
        )
        for metre in metres
    )
    return Cell(text=cell.text, notes=cell.notes, beats=beats, weight=cell.weight)
