"""The rhythm side of the checker: metre, measures, cells, rests, the newest rhythm."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import groupby, pairwise
from typing import NamedTuple

from bot.music.breach import Breach, Rule, breach_at
from bot.music.cell import HELD, Cell
from bot.music.exercise import Exercise, Note
from bot.music.level import Level
from bot.music.rhythm import Metre

_HALF_NOTE = Fraction(1, 2)
_PHRASE = 4  # measures


class _Placed(NamedTuple):
    """A cell where it stands; `notes` are the places of its notes and rests."""

    offset: Fraction
    cell: Cell
    notes: tuple[Fraction, ...]


def phrase_length(exercise: Exercise) -> Fraction:
    """The length of a phrase in whole notes: four measures."""
    return _PHRASE * exercise.metre.measure


def check_rhythm(exercise: Exercise, level: Level, part: int) -> Iterator[Breach]:
    """Every rule of rhythm that a line breaks."""
    metre, start = exercise.metre, Fraction(0)
    if metre not in [each for each, _ in level.metres]:
        yield breach_at(exercise, start, Rule.METRE, str(metre))
    whole = exercise.length == exercise.measures * metre.measure
    if exercise.measures not in level.measures or not whole:
        yield breach_at(exercise, start, Rule.LENGTH, str(exercise.measures))
    yield from _pickups(exercise, level, part)
    for offset, note in exercise.parts[part].timed():
        over = note.tied and _ends_measure(exercise, offset, note)
        if note.tied and not (over or _has_ties(level)):
            yield breach_at(exercise, offset, Rule.TIE)
        if (offset - exercise.pickup) % metre.measure + note.duration > metre.measure:
            yield breach_at(exercise, offset, Rule.BARLINE)
    yield from _held(exercise, level, part)
    yield from _cells(exercise, level, part)
    yield from _rests(exercise, part)
    if not level.rules.free_measures:
        yield from _last_notes(exercise, part)


def _pickups(exercise: Exercise, level: Level, part: int) -> Iterator[Breach]:
    """A pickup is the level's note and stands before each phrase; where it is new, it must come."""
    start, pickup = Fraction(0), exercise.pickup
    focus = level.rhythm_focus
    if not pickup:
        if focus and focus.pickup:
            yield breach_at(exercise, start, Rule.RHYTHM_FOCUS, "0 < 1")
        return
    if level.pickup is None or level.pickup.duration != pickup:
        yield breach_at(exercise, start, Rule.PICKUP)
        return
    begins = {
        offset: note.duration
        for offset, note in exercise.parts[part].timed()
        if note.tone is not None
    }
    first = exercise.parts[part].notes[0]
    if first.tone is None and first.duration == pickup:
        return  # a part that waits for the first beat
    for number in range(0, exercise.measures, _PHRASE):
        offset = number * exercise.metre.measure
        if begins.get(offset) != pickup:
            yield breach_at(exercise, offset, Rule.PICKUP)


def _has_ties(level: Level) -> bool:
    return any(note.tied for cell in level.cells for note in cell.notes)


def _ends_measure(exercise: Exercise, offset: Fraction, note: Note) -> bool:
    return (offset + note.duration - exercise.pickup) % exercise.metre.measure == 0


def held_offsets(exercise: Exercise, part: int) -> tuple[Fraction, ...]:
    """Places of the notes that are tied over a bar line."""
    timed = exercise.parts[part].timed()
    return tuple(o for o, note in timed if note.tied and _ends_measure(exercise, o, note))


def _held(exercise: Exercise, level: Level, part: int) -> Iterator[Breach]:
    """Notes tied over a bar line are the level's, before it and behind it, each a cell of its own.

    A phrase's end is not held over, nor a measure at both its ends; each begins a note.
    """
    over = held_offsets(exercise, part)
    lengths = {cell.duration for cell in level.held}
    tiler = _Tiler(level, exercise.metre, exercise.pickup)
    measures = _measures(exercise, part)
    comes = False
    for measure, after in zip(measures, [*measures[1:], []], strict=True):
        offset, last = measure[-1]
        if offset not in over:
            comes = False
            continue
        ends = [*(tiler.cells(measure) or ())[-1:], *(tiler.cells(after) or ())[:1]]
        begins = any(note.tone is not None for _, note in after[1:])
        right = (
            begins
            and not comes
            and {last.duration, after[0][1].duration} <= lengths
            and all(len(each.notes) == 1 for each in ends)
            and (offset + last.duration - exercise.pickup) % phrase_length(exercise)
        )
        if not right:
            yield breach_at(exercise, offset, Rule.HELD)
        comes = True


def _cells(exercise: Exercise, level: Level, part: int) -> Iterator[Breach]:
    placed: list[_Placed] = []
    tiler = _Tiler(level, exercise.metre, exercise.pickup)
    for measure in _measures(exercise, part):
        tiled = tiler.cells(measure)
        if tiled is None:
            shown = " ".join(_shown(note) for _, note in measure)
            yield breach_at(exercise, measure[0][0], Rule.CELL, shown)
        else:
            placed += tiled
            yield from _even(exercise, level, tiled)
    for text, group in groupby(placed, key=lambda each: each.cell.text):
        run = list(group)
        if len(run) > level.rules.same_cell:
            yield breach_at(exercise, run[-1].offset, Rule.SAME_CELL, f"{len(run)} x {text}")
    newest = _newest(exercise, level)
    ties = len(held_offsets(exercise, part))
    colours = {p.cell.step for p in placed if not p.cell.plain and p.cell.text not in newest}
    if ties and level.held and HELD not in newest:
        colours.add(level.held[0].step)
    if len(colours) > level.rules.colours:
        yield breach_at(exercise, Fraction(0), Rule.COLOURS, ", ".join(sorted(colours)))
    focus = level.rhythm_focus
    if focus and newest:
        hits = sum(1 for each in placed if each.cell.text in newest) + ties * (HELD in newest)
        needed = focus.needed(exercise.measures)
        if hits < needed:
            yield breach_at(exercise, Fraction(0), Rule.RHYTHM_FOCUS, f"{hits} < {needed}")
        if focus.apart:
            yield from _apart(exercise, level, placed, newest)


def _apart(
    exercise: Exercise, level: Level, placed: Sequence[_Placed], newest: frozenset[str]
) -> Iterator[Breach]:
    """The newest cells all in one measure, or in one phrase of several where no words rule them."""
    fresh = [each for each in placed if each.cell.text in newest]
    if not fresh:
        return
    numbers = {exercise.place(each.offset)[0] for each in fresh}
    phrases = {(number - 1) // _PHRASE for number in numbers}
    several = exercise.measures > _PHRASE and not level.rules.free_cells
    if len(numbers) == 1 or (several and len(phrases) == 1):
        detail = ", ".join(dict.fromkeys(each.cell.text for each in fresh))
        yield breach_at(exercise, fresh[0].offset, Rule.APART, detail)


def _even(exercise: Exercise, level: Level, measure: Sequence[_Placed]) -> Iterator[Breach]:
    """One cell over and over fills no even measure inside a phrase.

    Where a measure has two beats, two cells shorter than a half may.
    """
    offset, cell, _ = measure[0]
    number = exercise.place(offset)[0]
    texts = {each.cell.text for each in measure}
    two = exercise.metre.pulses == len(measure) == 2 and cell.duration < _HALF_NOTE
    free = level.rules.free_cells or level.rules.free_measures
    inside = number % 2 == 0 and number % _PHRASE
    if inside and len(measure) > 1 and len(texts) == 1 and not (two or free):
        yield breach_at(exercise, offset, Rule.EVEN, cell.text)


def _newest(exercise: Exercise, level: Level) -> frozenset[str]:
    """The newest cells, where the metre has anything to do with them."""
    focus = level.rhythm_focus
    if focus is None or focus.metre not in (None, exercise.metre):
        return frozenset()
    return focus.cells


def new_offsets(exercise: Exercise, level: Level, part: int) -> frozenset[Fraction]:
    """Places of the newest notes: of cells, or held over; a new metre's filling note is none."""
    focus = level.rhythm_focus
    if focus is None or focus.metre is not None:
        return frozenset()
    found = set(held_offsets(exercise, part)) if HELD in focus.cells else set()
    tiler = _Tiler(level, exercise.metre, exercise.pickup)
    for measure in _measures(exercise, part):
        for each in tiler.cells(measure) or ():
            if each.cell.text in focus.cells:
                found.update(each.notes)
    return frozenset(found)


def _measures(exercise: Exercise, part: int) -> list[list[tuple[Fraction, Note]]]:
    """The notes of each measure in order, those of a pickup first; ties end with the measure."""
    length, pickup = exercise.metre.measure, exercise.pickup
    notes = [
        (offset, replace(note, tied=note.tied and not _ends_measure(exercise, offset, note)))
        for offset, note in exercise.parts[part].timed()
    ]
    return [
        list(group) for _, group in groupby(notes, key=lambda each: (each[0] - pickup) // length)
    ]


def _full_measures(exercise: Exercise, part: int) -> list[list[tuple[Fraction, Note]]]:
    """The measures without the pickup of the line."""
    measures = _measures(exercise, part)
    return measures[1:] if exercise.pickup else measures


class _Tiler:
    """Takes measures apart into the cells of a level."""

    def __init__(self, level: Level, metre: Metre, pickup: Fraction) -> None:
        self._measure, self._pickup = metre.measure, pickup
        self._cells = [
            (cell, [(note.duration, note.rest, note.tied) for note in cell.notes], offsets)
            for cell in level.cells
            if (offsets := frozenset(cell.offsets(metre)))
        ]

    def cells(self, measure: Sequence[tuple[Fraction, Note]]) -> list[_Placed] | None:
        """The cells that a measure consists of, None where the level has none that fit."""
        if not measure:
            return []
        offset, first = measure[0]
        for cell, notes, offsets in self._cells:
            size = len(notes)
            if (
                notes[0] != _as_cell(first)
                or notes != [_as_cell(note) for _, note in measure[:size]]
                or (offset - self._pickup) % self._measure not in offsets
            ):
                continue
            rest = self.cells(measure[size:])
            if rest is not None and _follows_itself(rest, cell) < cell.in_a_row:
                return [_Placed(offset, cell, tuple(o for o, _ in measure[:size])), *rest]
        return None


def _as_cell(note: Note) -> tuple[Fraction, bool, bool]:
    return note.duration, note.tone is None, note.tied


def _follows_itself(placed: Sequence[_Placed], cell: Cell) -> int:
    """How often a cell comes at the start of some cells."""
    row = 0
    while row < len(placed) and placed[row].cell.text == cell.text:
        row += 1
    return row


def _rests(exercise: Exercise, part: int) -> Iterator[Breach]:
    """A phrase starts with a note; a measure has no two rests running; silence is rare."""
    length = exercise.metre.measure
    for number, measure in enumerate(_full_measures(exercise, part)):
        silent = [note.tone is None for _, note in measure]
        offset = measure[0][0]
        if number % _PHRASE == 0 and silent[0]:
            yield breach_at(exercise, offset, Rule.REST)
        if any(one and other for one, other in pairwise(silent)):
            yield breach_at(exercise, offset, Rule.REST)
        if all(silent) and (number % _PHRASE != 1 or exercise.length <= _PHRASE * length):
            yield breach_at(exercise, offset, Rule.REST)


def _last_notes(exercise: Exercise, part: int) -> Iterator[Breach]:
    """A phrase ends with a half note at least in its last measure, the line on a strong beat."""
    measures = _full_measures(exercise, part)
    phrase = phrase_length(exercise)
    for number, measure in enumerate(measures):
        if number % _PHRASE != _PHRASE - 1 and number != len(measures) - 1:
            continue
        end = (number // _PHRASE + 1) * phrase  # where the next pickup begins
        sung = [(at, note) for at, note in measure if note.tone is not None and at < end]
        if not sung or sung[-1][1].duration < _HALF_NOTE:
            yield breach_at(exercise, measure[0][0], Rule.LAST_NOTE)
            continue
        strength = exercise.metre.strength(sung[-1][0] - exercise.pickup)
        if number == len(measures) - 1 and strength < 2:
            yield breach_at(exercise, sung[-1][0], Rule.LAST_NOTE)


def _shown(note: Note) -> str:
    return f"{'r' if note.tone is None else ''}{note.duration}"
