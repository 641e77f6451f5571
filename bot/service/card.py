"""What the bot puts on a surface, as plain values that every surface can show in its own way."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import TypeAlias

from bot.music.voice import Voice


class Arrangement(StrEnum):
    """Together: one sounding key for the room. Apart: each voice in its own key, for home."""

    TOGETHER = "together"
    APART = "apart"


class Media(StrEnum):
    """The kinds of bytes that belong to one part of a reading in one arrangement."""

    PICTURE = "picture.png"  # 1600 px wide
    PICTURE_SVG = "picture.svg"
    PHONE_PICTURE = "phone.svg"  # two measures a system
    SHEET_PICTURE = "sheet.svg"  # for pages with many: staves of one size on all of them
    KEY_SOUND = "key.mp3"  # the tonality pattern
    PITCH_SOUND = "pitch.mp3"  # the starting note alone
    LINE_SOUND = "line.mp3"  # the line itself; only after a first try
    ALL_SOUND = "all.mp3"  # every part's line at once, where they read different ones; likewise


HEARD_AFTER_A_TRY = frozenset({Media.LINE_SOUND, Media.ALL_SOUND})


@dataclass(frozen=True, slots=True, kw_only=True)
class CardPart:
    """One line as one voice reads it: public label, the note to start on in letters, the key.

    `apart_key` is the key in which this voice reads the line alone at home; `text` is the line in
    words, in the key of all.
    """

    voice: Voice
    label: str
    start: str
    apart_key: str
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingCard:
    """Today's reading. `key` of a delivery is (choir, local date, slot) in one string.

    Texts are ready to show; media are fetched by (reading id, Arrangement, part index, Media).
    `pulses` counts felt beats in a measure, `tempo_bpm` felt beats a minute, `count_in` the
    measures that are counted before singing. `text` is the picture's alternative, for part 0; where
    there are several `lines`, it has a paragraph for each part. `has_words`: it is sung to words.
    `rhythm_only`: the page shows the rhythm alone, without a key.
    """

    key: str
    reading_id: str
    choir_id: str
    choir_name: str
    on: date
    title: str
    key_name: str
    metre: str
    measures: int
    tempo_bpm: int
    pulses: int
    count_in: int
    text: str
    parts: tuple[CardPart, ...]
    gives_pitch: bool
    own_music_title: str | None = None
    lines: int = 1
    has_words: bool = False
    rhythm_only: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class StoryCard:
    """The scene of the day. `strips` are its paths: the syllable and the words of each.

    `telling` and `visit` (counts scenes from 1) tell a vote on this scene from one on another.
    """

    key: str
    choir_id: str
    on: date
    title: str
    came_by: str
    text: str
    state: str
    strips: tuple[tuple[str, str], ...]
    telling: str
    visit: int
    line: ReadingCard


@dataclass(frozen=True, slots=True, kw_only=True)
class ScoreCard:
    """How a match stands, by sides; `key` is of the match, of which a day may have several."""

    key: str
    choir_id: str
    on: date
    title: str
    line: str
    match_id: str


# What a surface can be asked to put up. An activity with a card of its own joins it here.
Card: TypeAlias = ReadingCard | StoryCard | ScoreCard
