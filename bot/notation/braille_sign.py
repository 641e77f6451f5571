"""Signs of music braille in North American braille ASCII, one character a cell.

After the Music Braille Code of the Braille Authority of North America (1997, chapters 1, 2, 4;
2015) and the New International Manual of Braille Music Notation (1996, chapters 1 and 3).
"""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from fractions import Fraction

from bot.music.exercise import Exercise
from bot.music.pitch import LETTERS, Pitch
from bot.music.rhythm import Metre
from bot.notation.written import WrittenNote

# By base value: the signs of C D E F G A B, and of the rest.
_SIGNS = {
    "whole": ("YZ&=(!)", "M"),
    "half": ("NOPQRST", "U"),
    "quarter": ("?:$]\\[W", "V"),
    "eighth": ("DEFGHIJ", "X"),
    "16th": ("YZ&=(!)", "M"),
    "32nd": ("NOPQRST", "U"),
}
_BASES = {
    "whole": Fraction(1), "half": Fraction(1, 2), "quarter": Fraction(1, 4),
    "eighth": Fraction(1, 8), "16th": Fraction(1, 16), "32nd": Fraction(1, 32),
}  # fmt: skip
_SHARED = {"16th": "whole", "32nd": "half"}  # each small value has the signs of a large one
_SMALLER_BY = 16  # a sign's small value is a sixteenth of its large one
_OCTAVES = {0: "@@", 1: "@", 2: "^", 3: "_", 4: '"', 5: ".", 6: ";", 7: ",", 8: ",,"}
_ACCIDENTALS = {-2: "<<", -1: "<", 0: "*", 1: "%", 2: "%%"}
_DIGITS = "JABCDEFGHI"
NUMBER, HYPHEN, END, REST = "#", '"', "<K", "M"
_DOT, _TIE = "'", "@C"
_SMALLER, _LARGER = ",<1", "^<1"
_SPELLED_OUT = 3  # up to so many sharps or flats stand one by one in a signature


def number(value: int) -> str:
    """Write a number with its sign.

    >>> number(10)
    '#AJ'
    """
    return NUMBER + "".join(_DIGITS[int(digit)] for digit in str(value))


def heading(exercise: Exercise) -> str:
    """Write the key and time signatures: the one over the other as two rows of digits."""
    fifths = exercise.key.fifths
    sign = "%" if fifths > 0 else "<"
    count = abs(fifths)
    key = sign * count if count <= _SPELLED_OUT else number(count) + sign
    metre = exercise.metre
    # Digits in the lower part of the cell are the ASCII digits themselves.
    return key + ("_C" if metre.cut else number(metre.beats) + str(metre.unit))


def literary(text: str) -> str:
    """Write words uncontracted; a letter with an accent loses it, other signs are left out.

    >>> literary("Part II, no. 3")
    ',PART ,,II1 NO4 #C'
    """
    plain = unicodedata.normalize("NFKD", text)
    return " ".join(filter(None, (_word(word) for word in plain.split())))


_POINTS = {",": "1", ";": "2", ":": "3", ".": "4", "!": "6", "?": "8", "'": "'", "’": "'", "-": "-"}


def _word(word: str) -> str:
    letters = [letter for letter in word if letter.isascii() and letter.isalpha()]
    capitals = len(letters) > 1 and all(letter.isupper() for letter in letters)
    written, digits = (",," if capitals else ""), False
    for character in word:
        if character.isascii() and character.isdigit():
            written += ("" if digits else NUMBER) + _DIGITS[int(character)]
        elif character.isascii() and character.isalpha():
            written += ("," if character.isupper() and not capitals else "") + character.upper()
        else:
            written += _POINTS.get(character, "")
        digits = character.isdigit()
    return written


def needs_octave(before: Pitch | None, pitch: Pitch) -> bool:
    """Whether a note is marked with its octave (Music Braille Code 1997, 2.1.3 to 2.1.5).

    Not after a second or third, always after a sixth and more, after a fourth or fifth where the
    octave is another one; `before` None stands for the beginning of a line.
    """
    if before is None:
        return True
    distance = abs(pitch.staff_step - before.staff_step)
    return distance >= 5 or (distance >= 3 and pitch.octave != before.octave)


def note_sign(note: WrittenNote, pitch: Pitch | None, *, octave: bool, accidental: bool) -> str:
    """Write a note or rest with all that belongs to it: accidental, octave, dots, tie."""
    if note.value is None:
        return REST
    notes, rest = _SIGNS[note.value.base]
    dots = _DOT * note.value.dots
    if pitch is None:
        return rest + dots
    return (
        (_ACCIDENTALS[pitch.alter] if accidental else "")
        + (_OCTAVES[pitch.octave] if octave else "")
        + notes[LETTERS.index(pitch.letter)]
        + dots
        + (_TIE if note.tied else "")
    )


def value_signs(notes: Sequence[WrittenNote], metre: Metre, *, full: bool) -> list[str]:
    """Say before which notes of a measure a sign tells small values from large ones.

    Only where a reader could add the measure up in another way, or cannot know its length (`full`
    False): before small values, and again before the large ones whose signs these share.
    """
    told = [""] * len(notes)
    if all(_class(note) == "" for note in notes) or (full and _readings(notes, metre) == 1):
        return told
    small = False
    for index, note in enumerate(notes):
        kind = _class(note)
        if kind == "small" and not small:
            told[index], small = _SMALLER, True
        elif kind == "large" and small:
            told[index], small = _LARGER, False
    return told if _SMALLER in told else [""] * len(notes)


def _class(note: WrittenNote) -> str:
    base = note.value.base if note.value else ""
    if base in _SHARED:
        return "small"
    return "large" if base in _SHARED.values() else ""


def _readings(notes: Sequence[WrittenNote], metre: Metre) -> int:
    """Return in how many ways the signs add up to a measure; each has a large and a small value."""
    ways = {Fraction(0): 1}
    for note in notes:
        large = _large(note, metre)
        following: dict[Fraction, int] = {}
        for total, count in ways.items():
            for value in (large, large / _SMALLER_BY):
                reached = total + value
                if reached <= metre.measure:
                    following[reached] = following.get(reached, 0) + count
        ways = following
    return ways.get(metre.measure, 0)


def _large(note: WrittenNote, metre: Metre) -> Fraction:
    if note.value is None:
        return metre.measure
    base = _SHARED.get(note.value.base, note.value.base)
    return note.duration / _BASES[note.value.base] * _BASES[base]
