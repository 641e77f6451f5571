"""Short ways to write music down in tests, and the English wording."""

from __future__ import annotations

from fractions import Fraction
from functools import cache
from pathlib import Path

from bot.music.exercise import Exercise, Note, Part, Tone
from bot.music.pitch import Key
from bot.music.rhythm import Metre
from bot.service.content import load_content
from bot.wording import Wording

REPOSITORY = Path(__file__).parents[2]
_VALUES = {
    "w": Fraction(1), "h": Fraction(1, 2), "q": Fraction(1, 4), "e": Fraction(1, 8),
    "s": Fraction(1, 16), "hd": Fraction(3, 4), "qd": Fraction(3, 8), "ed": Fraction(3, 16),
}  # fmt: skip


def notes(text: str) -> tuple[Note, ...]:
    """Read `0:q 3+:e r:h 4:w~`: step, `+` or `-` for alterations, value, `~` for a tie.

    A value is a letter (w h q e s, `d` for a dot) or a fraction of a whole note.
    """
    return tuple(_note(word) for word in text.split())


def _note(word: str) -> Note:
    where, _, length = word.rstrip("~").partition(":")
    duration = _VALUES.get(length) or Fraction(length)
    if where == "r":
        return Note(duration=duration)
    alter = where.count("+") - where[1:].count("-")
    step = int(where.rstrip("+")) if alter >= 0 else int(where.rstrip("-"))
    return Note(duration=duration, tone=Tone(step=step, alter=alter), tied=word.endswith("~"))


def exercise(
    key: str,
    metre: str,
    *lines: str,
    octaves: tuple[int, ...] = (),
    pickup: Fraction = Fraction(0),
) -> Exercise:
    """An exercise of one line or several; every do in octave 4 unless `octaves` says otherwise."""
    parts = tuple(
        Part(notes=notes(line), do_octave=octave)
        for line, octave in zip(lines, octaves or (4,) * len(lines), strict=True)
    )
    return Exercise(key=Key.parse(key), metre=Metre.parse(metre), parts=parts, pickup=pickup)


@cache
def english() -> Wording:
    """The English wording as it ships."""
    return load_content([REPOSITORY / "content"]).wording
