"""Lines written down for tests: `d:q r:q m:h | ...`, tones as words, values as letters."""

from __future__ import annotations

from bot.music.cell import cell_notes
from bot.music.exercise import Exercise, Note, Part
from bot.music.pitch import Key
from bot.music.rhythm import Metre
from bot.music.syllable import tone_of


def line(text: str, metre: str = "4/4", key: str = "F", pickup: str = "") -> Exercise:
    """An exercise of one part: `do:q` a note, `r:q` a rest, `~` behind a note that is tied."""
    notes = []
    for word in (pickup + " " + text).replace("|", " ").split():
        name, _, value = word.partition(":")
        length = cell_notes(value.rstrip("~"))[0].duration
        tone = None if name == "r" else tone_of(name)
        notes.append(Note(duration=length, tone=tone, tied=value.endswith("~")))
    opening = sum(
        (cell_notes(w.partition(":")[2])[0].duration for w in pickup.split()), 0 * Metre().measure
    )
    return Exercise(
        key=Key.parse(key),
        metre=Metre.parse(metre),
        parts=(Part(notes=tuple(notes)),),
        pickup=opening,
    )
