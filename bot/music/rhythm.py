"""Durations as exact fractions of a whole note, note values, metres and rhythm cells."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

WHOLE, HALF, QUARTER = Fraction(1), Fraction(1, 2), Fraction(1, 4)
EIGHTH, SIXTEENTH = Fraction(1, 8), Fraction(1, 16)
_NAMES = {WHOLE: "whole", HALF: "half", QUARTER: "quarter", EIGHTH: "eighth", SIXTEENTH: "16th"}
_NAMES[Fraction(1, 32)] = "32nd"


@dataclass(frozen=True, slots=True, kw_only=True)
class NoteValue:
    """A written value: its base name in MusicXML's words (`quarter`, `16th`) and its dots."""

    base: str
    dots: int = 0


def note_value(duration: Fraction) -> NoteValue | None:
    """Return the single written value that lasts `duration`, or None where only a tie can.

    >>> note_value(Fraction(3, 8))
    NoteValue(base='quarter', dots=1)
    >>> note_value(Fraction(5, 8)) is None
    True
    """
    for dots, factor in ((0, Fraction(1)), (1, Fraction(3, 2)), (2, Fraction(7, 4))):
        base = duration / factor
        if base in _NAMES:
            return NoteValue(base=_NAMES[base], dots=dots)
    return None


@dataclass(frozen=True, slots=True, kw_only=True)
class Metre:
    """A time signature. `cut` writes 2/2 with the cut-time sign."""

    beats: int = 4
    unit: int = 4
    cut: bool = False

    @classmethod
    def parse(cls, text: str) -> Metre:
        """Read `4/4`, `6/8` or `cut`.

        >>> Metre.parse("3/4").measure
        Fraction(3, 4)
        """
        if text.strip() == "cut":
            return cls(beats=2, unit=2, cut=True)
        top, slash, bottom = text.strip().partition("/")
        if not (slash and top.isdecimal() and bottom.isdecimal() and int(top) > 0):
            raise ValueError(f"{text!r} is no metre: write for example 4/4, 6/8 or cut")
        if int(bottom) not in (1, 2, 4, 8, 16):
            raise ValueError(f"{text!r}: the lower figure is 1, 2, 4, 8 or 16")
        return cls(beats=int(top), unit=int(bottom))

    @property
    def text(self) -> str:
        """What `parse` reads back: `cut` for cut time.

        >>> Metre.parse("cut").text, Metre.parse("3/4").text
        ('cut', '3/4')
        """
        return "cut" if self.cut else str(self)

    @property
    def measure(self) -> Fraction:
        """Length of one measure in whole notes."""
        return Fraction(self.beats, self.unit)

    @property
    def compound(self) -> bool:
        """Whether the pulse divides in three: 6/8, 9/8, 12/8."""
        return self.unit >= 8 and self.beats % 3 == 0 and self.beats > 3

    @property
    def pulse(self) -> Fraction:
        """The felt beat in whole notes: a dotted quarter in 6/8, a half in cut time."""
        return Fraction(3, self.unit) if self.compound else Fraction(1, self.unit)

    @property
    def pulses(self) -> int:
        """Felt beats in a measure."""
        return self.beats // 3 if self.compound else self.beats

    @property
    def count_in_measures(self) -> int:
        """Measures counted before singing: one where there are four pulses, else two."""
        return 1 if self.pulses >= 4 else 2

    def strength(self, offset: Fraction) -> int:
        """Metric weight of a place in the measure: 3 first beat, 2 middle, 1 a beat, 0 between.

        >>> [Metre().strength(Fraction(n, 8)) for n in range(5)]
        [3, 0, 1, 0, 2]
        """
        place = offset % self.measure
        if place == 0:
            return 3
        if place % self.pulse:
            return 0
        return 2 if self.pulses % 2 == 0 and self.pulses > 2 and place * 2 == self.measure else 1

    def __str__(self) -> str:
        return f"{self.beats}/{self.unit}"


def place(offset: Fraction, metre: Metre, pickup: Fraction = Fraction(0)) -> tuple[int, Fraction]:
    """Return (measure, beat) of an offset, both counted from one as musicians do.

    A pickup is measure 0 and its beats are counted to the end of the measure.

    >>> place(Fraction(9, 8), Metre())
    (2, Fraction(3, 2))
    """
    start = offset - pickup + metre.measure if pickup else offset
    measure = int(start // metre.measure) + (0 if pickup else 1)
    return measure, (start % metre.measure) / metre.pulse + 1
