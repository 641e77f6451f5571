"""Measures of rhythm with their tones, written as notes; and what a written part sounds like."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction

from bot.music.exercise import Note, Part, Tone
from bot.music.patterns import TICKS, Pattern

Rhythm = tuple[tuple[Fraction, bool], ...]  # durations in whole notes, whether each is a rest
_LENGTHS = {ticks: Fraction(ticks, TICKS) for ticks in range(1, 2 * TICKS + 1)}


def rhythm_of(measures: Sequence[Pattern]) -> Rhythm:
    """The notes and rests of measures end to end, tied ones as one."""
    return tuple(
        (_LENGTHS[each.ticks], each.rest) for measure in measures for each in measure.struck
    )


def notes_of(measures: Sequence[Pattern], tones: Iterable[Tone]) -> tuple[Note, ...]:
    """The notes and rests of measures end to end, each struck note with the next of the tones."""
    sung = iter(tones)
    notes: list[Note] = []
    for measure in measures:
        for each in measure.struck:
            tone = None if each.rest else next(sung)
            pieces = each.tied or (each.ticks,)
            notes += [
                Note(duration=_LENGTHS[piece], tone=tone, tied=number + 1 < len(pieces))
                for number, piece in enumerate(pieces)
            ]
    return tuple(notes)


def sounding(part: Part) -> Rhythm:
    """The rhythm of a part as it sounds, tied notes as one: that of its measures."""
    found: list[tuple[Fraction, bool]] = []
    held = False
    for note in part.notes:
        if held:
            found[-1] = (found[-1][0] + note.duration, False)
        else:
            found.append((note.duration, note.tone is None))
        held = note.tied
    return tuple(found)
