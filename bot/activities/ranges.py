"""Range tests of a choir's parts: what a test makes of a part's range, and when the next is due.

A part is tested, never a singer: two notes, the lowest and the highest that all of the part sing
with comfort this month. Voices of this age change within weeks; the literature on changing voices
advises a new test every six to eight weeks (`content/SOURCES.md`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from bot.activities.choir import Choir, ChoirVoice
from bot.music.pitch import Pitch
from bot.music.voice import Voice, VoiceRange

DUE_AFTER = timedelta(weeks=6)
LATE_AFTER = timedelta(weeks=8)
_INSIDE = 5  # the tessitura leaves out this part of the span at either end
_NAMES = ("C", "C#", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")


@dataclass(frozen=True, slots=True, kw_only=True)
class RangeTest:
    """What a part sang with comfort on a day: its lowest and its highest note."""

    voice: Voice
    on: date
    low: Pitch
    high: Pitch

    def __post_init__(self) -> None:
        if self.low.midi >= self.high.midi:
            raise ValueError(f"{self.low} to {self.high}: the lower note comes first")

    @property
    def range(self) -> VoiceRange:
        """The range that lines keep to from then on; a fifth of it at either end is no tessitura.

        >>> low, high = Pitch.parse("G3"), Pitch.parse("F4")
        >>> test = RangeTest(voice=Voice.CHANGING, on=date(2026, 9, 1), low=low, high=high)
        >>> str(test.range.tessitura_low), str(test.range.tessitura_high)
        ('A3', 'E♭4')
        """
        inside = (self.high.midi - self.low.midi) // _INSIDE
        return VoiceRange(
            low=self.low,
            high=self.high,
            tessitura_low=_raised(self.low, inside),
            tessitura_high=_raised(self.high, -inside),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class DueTest:
    """A part that should be tested again; `tested_on` is None where it never was."""

    label: str
    voice: Voice
    since: date
    tested_on: date | None
    late: bool


def due_tests(
    choir: Choir, tests: Sequence[RangeTest], added_on: date, today: date
) -> tuple[DueTest, ...]:
    """The parts whose test lies six weeks back or more.

    Where nobody was tested yet, changing and baritone parts count from the choir's first day here;
    unchanged voices are only reminded of once they were tested.
    """
    found = []
    for voice in choir.voices:
        last = max((test.on for test in tests if test.voice is voice.voice), default=None)
        if last is None and voice.voice is Voice.TREBLE:
            continue
        since = last or added_on
        if today - since >= DUE_AFTER:
            found.append(_due(voice, since, last, today))
    return tuple(found)


def _due(voice: ChoirVoice, since: date, last: date | None, today: date) -> DueTest:
    late = today - since >= LATE_AFTER
    return DueTest(label=voice.label, voice=voice.voice, since=since, tested_on=last, late=late)


def _raised(pitch: Pitch, semitones: int) -> Pitch:
    if not semitones:
        return pitch
    octave, step = divmod(pitch.midi + semitones, 12)
    return Pitch.parse(f"{_NAMES[step]}{octave - 1}")
