"""A reading: an exercise given to a choir on a date, with the part that each voice reads."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from bot.activities.choir import Steps
from bot.music.exercise import Exercise
from bot.music.pitch import Key
from bot.music.voice import Clef, Voice

DAILY = "daily"  # the slot of the day's one reading


class Origin(StrEnum):
    """Where the music comes from."""

    COMPOSED = "composed"
    OWN = "own"  # brought by the director


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingPart:
    """What one voice reads: line `line` of the exercise, together and apart.

    `do_octave` places do in the reading's own key, `apart_do_octave` in `apart_key`.
    """

    voice: Voice
    label: str
    clef: Clef
    line: int
    do_octave: int
    apart_key: Key
    apart_do_octave: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One draw for one date. `draw` counts the lines made for that date, from 0; `id` is random.

    `title` names music that the director brought. The exercise itself is kept, not only its seed.
    A `pinned` line stays on its date whatever the choir's steps become. `focus` are earlier steps
    that the line came back to in the place of the newest.
    """

    id: str
    choir_id: str
    on: date
    slot: str
    draw: int
    exercise: Exercise
    parts: tuple[ReadingPart, ...]
    steps: Steps
    seed: int
    origin: Origin = Origin.COMPOSED
    title: str | None = None
    pinned: bool = False
    focus: tuple[str, ...] = ()


def reading_key(choir_id: str, on: date, slot: str = DAILY) -> str:
    """The key under which a reading is posted once: choir, local date, slot."""
    return f"{choir_id}.{on.isoformat()}.{slot}"


def draw_seed(choir_id: str, on: date, draw: int, slot: str = DAILY) -> int:
    """The composer's seed for one draw, 0 to 2**63 - 1 (SQLite's largest whole number)."""
    text = "\n".join((choir_id, on.isoformat(), slot, str(draw)))
    return int.from_bytes(hashlib.sha256(text.encode()).digest()[:8], "big") >> 1
