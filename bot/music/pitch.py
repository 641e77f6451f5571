"""Spelled pitches, keys and frequencies. A MIDI number appears only as a measure of height."""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import StrEnum
from functools import total_ordering

LETTERS = "CDEFGAB"
_SEMITONES = (0, 2, 4, 5, 7, 9, 11)
_BASE_40 = (3, 9, 15, 20, 26, 32, 38)
_ALTERS = {"": 0, "#": 1, "##": 2, "x": 2, "b": -1, "bb": -2, "♯": 1, "♭": -1, "𝄪": 2, "𝄫": -2}
_ACCIDENTALS = {0: "", 1: "#", 2: "##", -1: "b", -2: "bb"}
_SIGNS = {0: "", 1: "♯", 2: "𝄪", -1: "♭", -2: "𝄫"}
_PITCH = re.compile(r"([A-Ga-g])\s*(##|x|#|bb|b|♯|♭|𝄪|𝄫)?\s*(-?\d+)")
_NAME = re.compile(r"([A-Ga-g])(##|x|#|bb|b|♯|♭|𝄪|𝄫)?")


@dataclass(frozen=True, slots=True, kw_only=True)
class PitchName:
    """A letter with its accidental and no octave; `alter` in semitones, -2 to 2."""

    letter: str
    alter: int = 0

    def __post_init__(self) -> None:
        if len(self.letter) != 1 or self.letter not in LETTERS:
            raise ValueError(f"letter is {self.letter!r}: it is one of {LETTERS}")
        if self.alter not in _ACCIDENTALS:
            raise ValueError(f"alter is {self.alter}: it lies between -2 and 2")

    @classmethod
    def parse(cls, text: str) -> PitchName:
        """Read `F`, `Bb`, `F#` or `B♭`; ValueError otherwise.

        >>> PitchName.parse("Bb")
        PitchName(letter='B', alter=-1)
        """
        match = _NAME.fullmatch(text.strip())
        if match is None:
            raise ValueError(f"{text!r} is no pitch name: write for example F, Bb or F#")
        return cls(letter=match[1].upper(), alter=_ALTERS[match[2] or ""])

    @property
    def plain(self) -> str:
        """ASCII name, such as `Bb`."""
        return self.letter + _ACCIDENTALS[self.alter]

    def __str__(self) -> str:
        return self.letter + _SIGNS[self.alter]


@total_ordering
@dataclass(frozen=True, slots=True, kw_only=True)
class Pitch:
    """A spelled pitch in scientific octaves (C4 is middle C, A4 is 440 Hz in ISO 16).

    Ordered by sounding height first, spelling second.
    """

    letter: str
    alter: int = 0
    octave: int = 4

    def __post_init__(self) -> None:
        PitchName(letter=self.letter, alter=self.alter)

    @classmethod
    def parse(cls, text: str) -> Pitch:
        """Read `Bb3`, `F#4` or `E5`; ValueError otherwise.

        >>> Pitch.parse("Bb3").midi, Pitch.parse("b b 3").midi
        (58, 58)
        """
        match = _PITCH.fullmatch(text.strip())
        if match is None:
            raise ValueError(f"{text!r} is no pitch: write for example Bb3, F#4 or E5")
        return cls(letter=match[1].upper(), alter=_ALTERS[match[2] or ""], octave=int(match[3]))

    @property
    def name(self) -> PitchName:
        """The pitch without its octave."""
        return PitchName(letter=self.letter, alter=self.alter)

    @property
    def plain(self) -> str:
        """ASCII name with octave, such as `Bb3`."""
        return f"{self.name.plain}{self.octave}"

    @property
    def staff_step(self) -> int:
        """Letters above C0, whatever the accidental: E4 and Eb4 share one line of the staff."""
        return 7 * self.octave + LETTERS.index(self.letter)

    @property
    def midi(self) -> int:
        """Semitones above C-1: C4 is 60."""
        return 12 * (self.octave + 1) + _SEMITONES[LETTERS.index(self.letter)] + self.alter

    @property
    def base40(self) -> int:
        """Forty to the octave, so that every spelled interval has a size of its own; C4 is 123.

        A minor sixth is 28, an augmented fifth 24, though both are eight semitones (W. B. Hewlett,
        "A Base-40 Number-line Representation of Musical Pitch Notation", Musikometrika 4, 1992).
        """
        return 40 * (self.octave - 1) + _BASE_40[LETTERS.index(self.letter)] + self.alter

    def frequency_hz(self, a4_hz: float = 440.0) -> float:
        """Equal-tempered frequency (ISO 16 for the default A4).

        >>> round(Pitch.parse("C4").frequency_hz(), 2)
        261.63
        """
        return float(a4_hz * 2.0 ** ((self.midi - 69) / 12))

    def __lt__(self, other: Pitch) -> bool:
        return (self.midi, self.staff_step) < (other.midi, other.staff_step)

    def __str__(self) -> str:
        return f"{self.name}{self.octave}"


class Mode(StrEnum):
    """Major, or minor in its la-based reading: do stays the tonic of the relative major."""

    MAJOR = "major"
    MINOR = "minor"

    @property
    def tonic_step(self) -> int:
        """The tonic in scale steps above do: do itself, or the la below it."""
        return 0 if self is Mode.MAJOR else -2


_MAJOR_FIFTHS = ("Cb", "Gb", "Db", "Ab", "Eb", "Bb", "F", "C", "G", "D", "A", "E", "B", "F#", "C#")


@dataclass(frozen=True, slots=True, kw_only=True)
class Key:
    """A key by its do: the tonic in major, the tonic of the relative major in minor (la-based).

    `fifths` counts sharps (positive) or flats (negative) of the signature, -7 to 7.
    """

    fifths: int
    mode: Mode = Mode.MAJOR

    def __post_init__(self) -> None:
        if not -7 <= self.fifths <= 7:
            raise ValueError(f"a signature of {self.fifths} fifths: at most 7 sharps or flats")

    @classmethod
    def parse(cls, text: str) -> Key:
        """Read a major key such as `Eb`, or a minor one such as `d minor` or `Dm`.

        >>> Key.parse("Eb").fifths
        -3
        >>> str(Key.parse("d minor").do)
        'F'
        """
        words = text.strip().split()
        minor = False
        if len(words) == 2 and words[1].lower() in ("major", "minor"):
            minor = words[1].lower() == "minor"
            words = words[:1]
        elif len(words) == 1 and len(words[0]) > 1 and words[0].endswith("m"):
            minor, words = True, [words[0][:-1]]
        if len(words) != 1:
            raise ValueError(f"{text!r} is no key: write for example F, Bb or d minor")
        name = PitchName.parse(words[0]).plain
        for index, tonic in enumerate(_MAJOR_FIFTHS):
            key = cls(fifths=index - 7, mode=Mode.MINOR if minor else Mode.MAJOR)
            if (key.tonic.plain if minor else tonic) == name:
                return key
        raise ValueError(f"{text!r} is no key with at most seven sharps or flats")

    @property
    def do(self) -> PitchName:
        """The pitch that is called do."""
        return PitchName.parse(_MAJOR_FIFTHS[self.fifths + 7])

    @property
    def tonic(self) -> PitchName:
        """The tonic: do in major, la in minor."""
        return self.do if self.mode is Mode.MAJOR else self.pitch(5, 0, 4).name

    def pitch(self, step: int, alter: int, do_octave: int) -> Pitch:
        """Spell the pitch `step` scale steps above the do of octave `do_octave`.

        `alter` counts semitones away from the key's own pitch on that step.

        >>> str(Key.parse("F").pitch(3, 0, 4)), str(Key.parse("F").pitch(-1, 0, 4))
        ('B♭4', 'E4')
        """
        do = self.do
        index = LETTERS.index(do.letter) + step
        letter, octave = LETTERS[index % 7], do_octave + index // 7
        height = 12 * (step // 7) + _SEMITONES[step % 7]
        do_pitch = Pitch(letter=do.letter, alter=do.alter, octave=do_octave)
        natural = Pitch(letter=letter, octave=octave)
        return Pitch(
            letter=letter, alter=do_pitch.midi + height - natural.midi + alter, octave=octave
        )

    def step_of(self, pitch: Pitch, do_octave: int) -> tuple[int, int]:
        """Return (step, alter) of a pitch: the inverse of `pitch`.

        >>> Key.parse("F").step_of(Pitch.parse("B4"), 4)
        (3, 1)
        """
        do = Pitch(letter=self.do.letter, octave=do_octave)
        step = pitch.staff_step - do.staff_step
        return step, pitch.midi - self.pitch(step, 0, do_octave).midi

    @property
    def plain(self) -> str:
        """ASCII name that `parse` reads back, such as `Eb` or `D minor`."""
        return self.tonic.plain + ("" if self.mode is Mode.MAJOR else " minor")

    def __str__(self) -> str:
        return f"{self.tonic} {self.mode.value}"
