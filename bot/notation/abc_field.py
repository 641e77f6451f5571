"""Information fields of ABC: key, metre and unit length, after the standard 2.1 of 2011."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction

from bot.music.pitch import Key
from bot.music.rhythm import EIGHTH, SIXTEENTH, Metre

_KEY = re.compile(r"([A-G])([#b♯♭]?)\s*([A-Za-z]*)(.*)", re.DOTALL)
_LENGTH = re.compile(r"1/(1|2|4|8|16|32)|1")
_MODES = {
    "": "major", "maj": "major", "ion": "major", "m": "minor", "min": "minor", "aeo": "minor",
    "dor": "dorian", "phr": "phrygian", "lyd": "lydian", "mix": "mixolydian", "loc": "locrian",
}  # fmt: skip
_CLEF = re.compile(r"(?:clef=)?(treble|bass|alto|tenor|perc|none)([1-5]?)([+-]8)?", re.IGNORECASE)
_OCTAVE = re.compile(r"octave=([+-]?[0-4])")
_CHANGES_NOTES = re.compile(r"(exp\b|[\^_=]+[a-gA-G]|transpose=|score=|sound=|shift=)")
_SHORT_METRE = Fraction(3, 4)  # below it the unit is a sixteenth, from it on an eighth


@dataclass(frozen=True, slots=True, kw_only=True)
class KeyField:
    """What K: says: the key, and by how many octaves the notes lie away from the letters."""

    key: Key
    octaves: int = 0


def read_key(text: str) -> KeyField:
    """Read `Eb`, `G minor`, `Am` or `D clef=bass`; ValueError says what would be right."""
    words = text.strip()
    match = _KEY.fullmatch(words)
    if match is None:
        raise ValueError(f"K:{words[:20]} is no key: write for example K:F or K:Dm")
    letter, sign, word, rest = match.groups()
    if _CLEF.match(word) or word.lower() in ("clef", "octave", "exp", "transpose"):
        word, rest = "", word + rest
    mode = _MODES.get(word.lower() if len(word) < 3 else word.lower()[:3])
    if mode is None:
        raise ValueError(f"K:{words[:20]} is no key: write for example K:F or K:Dm")
    if mode not in ("major", "minor"):
        raise ValueError(f"a {mode} key: a reading is in major or in minor")
    changed = _CHANGES_NOTES.search(rest)
    if changed:
        raise ValueError(f"{changed[1]!r} in K: use a plain key, with accidentals at the notes")
    key = Key.parse(f"{letter}{sign.replace('♯', '#').replace('♭', 'b')} {mode}")
    return KeyField(key=key, octaves=octaves_of(rest))


def octaves_of(properties: str) -> int:
    """By how many octaves a clef such as `treble-8`, or `octave=-1`, moves the notes."""
    moved = 0
    for clef in _CLEF.finditer(properties):
        moved += {"+8": 1, "-8": -1}.get(clef[3], 0)
    octave = _OCTAVE.search(properties)
    return moved + (int(octave[1]) if octave else 0)


def read_metre(text: str) -> Metre:
    """Read `3/4`, `C` or `C|`; ValueError otherwise."""
    words = text.strip()
    return Metre.parse({"C": "4/4", "C|": "cut"}.get(words, words))


def read_unit(text: str) -> Fraction:
    """Read the unit length `1/8`, in whole notes; ValueError otherwise."""
    words = text.strip()
    if not _LENGTH.fullmatch(words):
        raise ValueError(f"L:{words[:20]} is no unit length: write for example L:1/8")
    return Fraction(words)


def usual_unit(metre: Metre) -> Fraction:
    """Return the unit length where no L: states it (standard 2.1, section 3.1.7)."""
    return SIXTEENTH if metre.measure < _SHORT_METRE else EIGHTH
