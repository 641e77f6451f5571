"""Sounding spans of a line, and the notes and rests that write them: for formats without rests."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from bot.music.exercise import Note, Part, Tone
from bot.music.rhythm import Metre


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """A tone that sounds from `onset` to `end`, in whole notes from where the line begins."""

    onset: Fraction
    end: Fraction
    tone: Tone


def spans_of(part: Part) -> tuple[Span, ...]:
    """Return what sounds in a part; tied notes are one span, rests are the gaps."""
    spans: list[Span] = []
    tied = False
    for onset, note in part.timed():
        end = onset + note.duration
        if note.tone is None:
            tied = False
            continue
        if tied and spans[-1].tone == note.tone:
            spans[-1] = Span(onset=spans[-1].onset, end=end, tone=note.tone)
        else:
            spans.append(Span(onset=onset, end=end, tone=note.tone))
        tied = note.tied
    return tuple(spans)


def notes_of(
    spans: Sequence[Span], begin: Fraction, end: Fraction, metre: Metre, lead: Fraction
) -> tuple[Note, ...]:
    """Return the notes and rests of a line from `begin` to `end`.

    `lead` is what lies between a bar line and time 0. Spans are in order and do not overlap.
    """
    notes: list[Note] = []
    at = begin
    for span in spans:
        notes += _rests(at, span.onset, metre, lead)
        notes.append(Note(duration=span.end - span.onset, tone=span.tone))
        at = span.end
    return (*notes, *_rests(at, end, metre, lead))


def _rests(begin: Fraction, end: Fraction, metre: Metre, lead: Fraction) -> Iterator[Note]:
    """Yield the rests of a silence: as few as show every beat and never cross its middle."""
    while begin < end:
        place = (begin + lead) % metre.measure
        fits = (
            size for size in _sizes(metre) if place % size == 0 and place + size <= metre.measure
        )
        size = next((size for size in fits if begin + size <= end), end - begin)
        yield Note(duration=size)
        begin += size


def _sizes(metre: Metre) -> Iterator[Fraction]:
    """Yield what a rest may last, longest first: a measure, half of one, a beat, its parts."""
    yield metre.measure
    if metre.beats in (4, 6):
        yield metre.measure / 2
    size = Fraction(1, metre.unit)
    for _ in range(6):
        yield size
        size /= 2
