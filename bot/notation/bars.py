"""Do the measures of a part add up? Only then does a line of notes follow from them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction

from bot.music.rhythm import Metre
from bot.notation.faults import FaultList, Spot, mixed
from bot.notation.part_in import PartMeasure, PartNote

_UNITS = {
    1: ("whole note", "whole notes"),
    2: ("half", "halves"),
    4: ("quarter", "quarters"),
    8: ("eighth", "eighths"),
    16: ("sixteenth", "sixteenths"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Bars:
    """A part whose measures have been checked; `pickup` in whole notes, 0 for none."""

    pickup: Fraction
    measures: tuple[PartMeasure, ...]

    @property
    def notes(self) -> tuple[PartNote, ...]:
        """All notes and rests in order."""
        return tuple(note for measure in self.measures for note in measure.notes)


def barred(measures: tuple[PartMeasure, ...], metre: Metre, label: str, faults: FaultList) -> Bars:
    """Check a part's measures and ties; every measure that does not add up is a fault.

    A short first measure is a pickup, and the last one may then be short by as much. Where a file
    cuts a measure in two, as at a repeat sign, the two become one again.
    """
    whole = _rejoined(measures)
    short_first = len(whole) > 1 and 0 < whole[0].length < whole[0].due
    pickup = whole[0].length if short_first else Fraction(0)
    for measure in whole:
        opening = measure is whole[0] and bool(pickup)
        closing = measure is whole[-1] and measure.length + pickup == measure.due
        if not (measure.length == measure.due or opening or closing):
            _misfit(measure, metre, label, faults)
    _check_ties(whole, metre, label, faults)
    return Bars(pickup=pickup, measures=whole)


def _rejoined(measures: tuple[PartMeasure, ...]) -> tuple[PartMeasure, ...]:
    joined = list(measures[:1])
    for measure in measures[1:]:
        last = joined[-1]
        halves = measure.length > 0 and last.length > 0
        if len(joined) > 1 and halves and measure.length + last.length == last.due:
            moved = (replace(note, onset=note.onset + last.length) for note in measure.notes)
            joined[-1] = replace(last, length=last.due, notes=(*last.notes, *moved))
        else:
            joined.append(measure)
    return tuple(joined)


def _misfit(measure: PartMeasure, metre: Metre, label: str, faults: FaultList) -> None:
    unit = Fraction(1, metre.unit)
    ends = min(measure.length, measure.due)
    faults.add(
        _spot(measure, label, ends / metre.pulse + 1),
        f"the measure adds up to {_count(measure.length / unit, _UNITS[metre.unit])}",
        f"it should be {_count(measure.due / unit, _UNITS[metre.unit])}",
    )


def _count(number: Fraction, unit: tuple[str, str]) -> str:
    return f"{mixed(number)} {unit[number != 1]}"


def _check_ties(
    measures: tuple[PartMeasure, ...], metre: Metre, label: str, faults: FaultList
) -> None:
    notes = [(measure, note) for measure in measures for note in measure.notes]
    for index, (measure, note) in enumerate(notes):
        after = [following.pitch for _, following in notes[index + 1 : index + 2]]
        if note.tied and after != [note.pitch]:
            faults.add(
                _spot(measure, label, note.onset / metre.pulse + 1),
                "a tie that leads to no note of the same pitch",
                "take it out, or make it a slur",
            )


def _spot(measure: PartMeasure, label: str, beat: Fraction) -> Spot:
    return Spot(part=label, measure=measure.number, count=measure.count, beat=beat)
