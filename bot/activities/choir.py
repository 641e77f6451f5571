"""A choir: one class, its voices, its steps, its days and how its readings look and sound."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, time
from enum import StrEnum

from bot.activities.calendar import Meeting
from bot.music.page_options import PageOptions
from bot.music.solfa import Solfa
from bot.music.tonality import KeyPattern
from bot.music.voice import Clef, Voice, VoiceRange


@dataclass(frozen=True, slots=True, kw_only=True)
class ChoirVoice:
    """One voice of a choir: its kind, its public label, its range this month, its clef."""

    voice: Voice
    label: str
    range: VoiceRange
    clef: Clef


@dataclass(frozen=True, slots=True, kw_only=True)
class Steps:
    """Where the choir stands: a sequence and one step id per track."""

    sequence: str = "steps-first"
    pitch: str = "p01"
    rhythm: str = "r01"
    voice: str = "v01"


class Hearing(StrEnum):
    """Who opens a line for hearing. Never before a first try."""

    NEVER = "never"
    DIRECTOR = "director"  # the director, for everybody, once the choir has read it
    TRY = "try"  # each singer, after a try of their own; the director for the room


@dataclass(frozen=True, slots=True, kw_only=True)
class Presentation:
    """How a choir's readings look and sound. `tempo_bpm` None means the default for the rhythm.

    `study_s` are the seconds of the study clock on the stage, None where it only counts up.
    """

    solfa: Solfa = field(default_factory=Solfa)
    key_pattern: KeyPattern = KeyPattern.TRIAD
    a4_hz: float = 440.0
    tempo_bpm: int | None = None
    mark_do: bool = True
    give_pitch: bool = True
    page: PageOptions = field(default_factory=PageOptions)
    study_s: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Choir:
    """One class. `id` is random; `zone` an IANA name; dates and times are local to it.

    `measures` None means the step's own length; `key` None means the program chooses. `bell_at` is
    when the lesson begins, None where that is when the line goes up.
    """

    id: str
    name: str
    voices: tuple[ChoirVoice, ...]
    steps: Steps
    zone: str
    meeting: Meeting
    post_at: time
    starts_on: date
    presentation: Presentation = field(default_factory=Presentation)
    measures: int | None = None
    key: str | None = None
    bell_at: time | None = None
    hearing: Hearing = Hearing.DIRECTOR
