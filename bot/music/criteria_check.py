"""Where a line differs from what a published reading asks for, by measure and beat. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from itertools import pairwise

from bot.music.cell import CellNote
from bot.music.criteria import Criteria, Reads, Task
from bot.music.exercise import Exercise, Note, Tone
from bot.music.pitch import Mode
from bot.music.syllable import word_of
from bot.music.tiling import tile, value_text
from bot.music.voice import Voice

_DOMINANT = (1, 4, 6)  # re, so, ti: the tones of V
_LEADS_HOME = (1, 4, 6)


class Asks(StrEnum):
    """What can differ; the value is the key of the sentence, with the gaps what and asked."""

    PARTS = "criteria.differs.parts"
    METRE = "criteria.differs.metre"
    MODE = "criteria.differs.mode"
    KEY = "criteria.differs.key"
    LENGTH = "criteria.differs.length"
    PICKUP = "criteria.differs.pickup"
    TIE = "criteria.differs.tie"
    VALUE = "criteria.differs.value"
    GROUP = "criteria.differs.group"
    TONE = "criteria.differs.tone"
    SKIP = "criteria.differs.skip"
    OFF_BEAT = "criteria.differs.off_beat"
    EARLY = "criteria.differs.early"
    SPAN = "criteria.differs.span"
    RANGE = "criteria.differs.range"
    START = "criteria.differs.start"
    END = "criteria.differs.end"
    ALIKE = "criteria.differs.alike"
    HALF_CADENCE = "criteria.differs.half_cadence"
    CADENCE = "criteria.differs.cadence"


@dataclass(frozen=True, slots=True, kw_only=True)
class Difference:
    """One difference at one place as musicians count it; `what` stands there, `asked` should."""

    asks: Asks
    measure: int
    beat: Fraction
    what: str = ""
    asked: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Line:
    """A line beside the reading that it is held against; `sung` are places and tones."""

    exercise: Exercise
    criteria: Criteria
    task: Task
    voice: Voice | None
    sung: tuple[tuple[Fraction, Tone], ...]

    def at(self, offset: Fraction, asks: Asks, what: object = "", asked: object = "") -> Difference:
        measure, beat = self.exercise.place(offset)
        return Difference(asks=asks, measure=measure, beat=beat, what=str(what), asked=str(asked))


def differences(
    exercise: Exercise, criteria: Criteria, task: Task, voice: Voice | None = None
) -> tuple[Difference, ...]:
    """Everything in which a line is not what the reading asks for, in the order of places.

    `voice` adds the key and the range that are printed for it; without one they are left out.
    """
    line = _Line(
        exercise=exercise, criteria=criteria, task=task, voice=voice, sung=tuple(_sung(exercise))
    )
    found = [*_whole(line), *_rhythm(line)]
    if task.reads is Reads.MELODY and line.sung:
        found += [*_tones(line), *_moves(line), *_ends(line), *_plan(line)]
    return tuple(sorted(found, key=lambda each: (each.measure, each.beat)))


def nearest(
    exercise: Exercise, criteria: Criteria, voice: Voice | None = None
) -> tuple[Task, tuple[Difference, ...]]:
    """The reading from which a line differs least, and in what; the first of equal ones."""
    found = [(task, differences(exercise, criteria, task, voice)) for task in criteria.tasks]
    return min(found, key=lambda each: len(each[1]))


def _sung(exercise: Exercise) -> Iterator[tuple[Fraction, Tone]]:
    held = False
    for offset, note in exercise.parts[0].timed():
        if note.tone is not None and not held:
            yield offset, note.tone
        held = note.tied


def _whole(line: _Line) -> Iterator[Difference]:
    exercise, task, start = line.exercise, line.task, Fraction(0)
    if len(exercise.parts) > 1:
        yield line.at(start, Asks.PARTS, len(exercise.parts))
    if exercise.metre not in task.metres:
        yield line.at(start, Asks.METRE, exercise.metre, ", ".join(map(str, task.metres)))
    if exercise.measures != task.measures:
        yield line.at(start, Asks.LENGTH, exercise.measures, task.measures)
    if exercise.pickup:
        yield line.at(start, Asks.PICKUP)
    if task.reads is Reads.RHYTHM:
        return
    if exercise.key.mode is not Mode.MAJOR:
        yield line.at(start, Asks.MODE, exercise.key)
        return
    printed = () if line.voice is None else task.keys.get(line.voice, ())
    if printed and exercise.key not in printed:
        asked = ", ".join(str(key.do) for key in printed)
        yield line.at(start, Asks.KEY, exercise.key.do, asked)


def _rhythm(line: _Line) -> Iterator[Difference]:
    exercise, task = line.exercise, line.task
    measures: dict[int, list[tuple[Fraction, Note]]] = {}
    lead = exercise.metre.measure - exercise.pickup if exercise.pickup else Fraction(0)
    for offset, note in exercise.parts[0].timed():
        inside = (offset + lead) % exercise.metre.measure
        if note.tied or inside + note.duration > exercise.metre.measure:
            yield line.at(offset, Asks.TIE)
        elif task.values is None:
            measures.setdefault(exercise.place(offset)[0], []).append((offset, note))
        elif (note.duration, note.tone is None) not in [(v.duration, v.rest) for v in task.values]:
            listed = ", ".join(value_text(_as_note(value)) for value in task.values)
            yield line.at(offset, Asks.VALUE, value_text(note), listed)
    known = [(cell, 0) for cell in task.cells]
    texts = [cell.text for cell in task.cells]
    for notes in measures.values():
        inside = (notes[0][0] + lead) % exercise.metre.measure
        for tiled in tile([note for _, note in notes], inside, exercise.metre, known):
            # In another metre a group that is read fits no place: the metre says so already.
            if tiled.step is None and tiled.text not in texts:
                yield line.at(notes[tiled.first][0], Asks.GROUP, tiled.text)


def _as_note(value: CellNote) -> Note:
    return Note(duration=value.duration, tone=None if value.rest else Tone(step=0))


def _tones(line: _Line) -> Iterator[Difference]:
    exercise, task = line.exercise, line.task
    limits = None if line.voice is None else line.criteria.ranges.get(line.voice)
    for offset, tone in line.sung:
        pitch = exercise.pitch(tone)
        if task.tones is None:
            if tone.alter:
                yield line.at(offset, Asks.TONE, _word(tone), "do re mi fa so la ti")
        elif tone not in task.tones:
            yield line.at(offset, Asks.TONE, _word(tone), " ".join(map(_word, task.tones)))
        if limits is not None and not limits[0].midi <= pitch.midi <= limits[1].midi:
            yield line.at(offset, Asks.RANGE, pitch, f"{limits[0]}-{limits[1]}")
    if line.criteria.span is not None:
        yield from _span(line, line.criteria.span)


def _span(line: _Line, widest: int) -> Iterator[Difference]:
    """The first note at which the line has become too wide."""
    heights: list[int] = []
    for offset, tone in line.sung:
        heights.append(line.exercise.pitch(tone).midi)
        wide = max(heights) - min(heights)
        if wide > widest:
            yield line.at(offset, Asks.SPAN, wide, widest)
            return


def _moves(line: _Line) -> Iterator[Difference]:
    task, pulse = line.task, line.exercise.metre.pulse
    for (_, one), (offset, other) in pairwise(line.sung):
        low, high = min(one, other), max(one, other)
        if high.step - low.step < 2:
            continue
        what = f"{_word(one)}-{_word(other)}"
        measure, _ = line.exercise.place(offset)
        if not task.may_skip(low, high):
            yield line.at(offset, Asks.SKIP, what)
            continue
        if task.skips_on_beat and (offset - line.exercise.pickup) % pulse:
            yield line.at(offset, Asks.OFF_BEAT, what)
        if measure < task.skips_from:
            yield line.at(offset, Asks.EARLY, what, task.skips_from)


def _ends(line: _Line) -> Iterator[Difference]:
    (first_at, first), (last_at, last) = line.sung[0], line.sung[-1]
    start, end = line.task.start, line.task.end
    if start is not None and first not in start:
        yield line.at(first_at, Asks.START, _word(first), " or ".join(map(_word, start)))
    if end is not None and last not in end:
        yield line.at(last_at, Asks.END, _word(last), " or ".join(map(_word, end)))
    if line.task.full_cadence and len(line.sung) > 1:
        before_at, before = line.sung[-2]
        if last.step % 7 or before.step % 7 not in _LEADS_HOME:
            yield line.at(before_at, Asks.CADENCE, f"{_word(before)}-{_word(last)}")


def _plan(line: _Line) -> Iterator[Difference]:
    """Measures that come back, and the half cadence."""
    exercise, task = line.exercise, line.task
    measure = exercise.metre.measure
    for one, other in task.alike:
        if max(one, other) > exercise.measures:
            continue
        if _measure(line, one) != _measure(line, other):
            yield line.at(exercise.pickup + (other - 1) * measure, Asks.ALIKE, other, one)
    if task.half_cadence is None or task.half_cadence > exercise.measures:
        return
    end = exercise.pickup + task.half_cadence * measure
    before = [(offset, tone) for offset, tone in line.sung if offset < end]
    if before and before[-1][1].step % 7 not in _DOMINANT:
        yield line.at(before[-1][0], Asks.HALF_CADENCE, _word(before[-1][1]))


def _measure(line: _Line, number: int) -> Sequence[tuple[Fraction, Fraction, Tone | None]]:
    exercise = line.exercise
    begin = exercise.pickup + (number - 1) * exercise.metre.measure
    return [
        (offset - begin, note.duration, note.tone)
        for offset, note in exercise.parts[0].timed()
        if begin <= offset < begin + exercise.metre.measure
    ]


def _word(tone: Tone) -> str:
    try:
        return word_of(tone)
    except ValueError:
        return f"{tone.step:+d}{'#' * tone.alter}{'b' * -tone.alter}"
