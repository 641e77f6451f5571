"""A reading as the stage shows it: its signs in time, and the keys into which it can move. Pure."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import assert_never

from bot.activities.choir import Choir
from bot.activities.reading import Reading
from bot.activities.tempo import reading_tempo_bpm
from bot.errors import Refused
from bot.media.request import Drone, KeyGiving, Line, MediaRequest, SoundRequest, StartingNote
from bot.music.exercise import Exercise
from bot.music.half_steps import moved
from bot.music.tonality import KeyPattern
from bot.notation.written import written_measures
from bot.service.card import Arrangement, Media
from bot.service.cards import key_in_words
from bot.service.media_requests import media_request
from bot.service.placing import as_read, as_score
from bot.wording import Wording

REACH = 7  # half steps up and down that the stage offers
# The tempi that metronomes have always carried.
TEMPI = (
    40, 42, 44, 46, 48, 50, 52, 54, 56, 58, 60, 63, 66, 69, 72, 76, 80, 84, 88, 92, 96, 100, 104,
    108, 112, 116, 120, 126, 132, 138, 144, 152, 160,
)  # fmt: skip


class StageMedia(StrEnum):
    """What the stage shows and sounds, in the key to which it was moved."""

    PICTURE = "picture.svg"
    ANSWER = "answer.svg"  # what was sung, written out where the page was read another way
    KEY = "key.mp3"
    START = "start.mp3"
    DO = "do.mp3"  # the tonic alone, for the question if the key was held
    DRONE = "drone.mp3"
    LINE = "line.mp3"  # what the picture shows; only once it is open
    PART_LINE = "part.mp3"  # one part's own line, where parts read different ones; likewise


HEARD_ONCE_OPEN = frozenset({StageMedia.LINE, StageMedia.PART_LINE})


@dataclass(frozen=True, slots=True, kw_only=True)
class Sign:
    """One written note or rest: part and number as in the picture, measure from 1 (0: a pickup).

    `at` and `length` count pulses from the beginning of the line.
    """

    part: int
    number: int
    measure: int
    at: float
    length: float


@dataclass(frozen=True, slots=True, kw_only=True)
class KeyChoice:
    """A key some half steps away; `beyond` is the label of a part that cannot sing there."""

    half_steps: int
    key_name: str
    beyond: str | None = None


def signs(reading: Reading, part: int, *, alone: bool = False) -> tuple[Sign, ...]:
    """Every sign of the picture of one part; of all, where they read different lines together.

    Refused("reading.no_part") for a part that it lacks.
    """
    if not 0 <= part < len(reading.parts):
        raise Refused("reading.no_part", part=part + 1)
    page = as_read(reading, part) if alone else _page(reading, part)
    pulse = page.metre.pulse
    return tuple(
        Sign(
            part=index,
            number=number,
            measure=measure.number,
            at=float(note.offset / pulse),
            length=float(note.duration / pulse),
        )
        for index in range(len(page.parts))
        for number, (measure, note) in enumerate(
            (measure, note) for measure in written_measures(page, index) for note in measure.notes
        )
    )


def key_choices(reading: Reading, choir: Choir, say: Wording) -> tuple[KeyChoice, ...]:
    """Where the line can move: every half step within reach, with who cannot sing there."""
    return tuple(
        KeyChoice(
            half_steps=steps,
            key_name=key_in_words(moved(reading.exercise, steps).key, say),
            beyond=_beyond(reading, choir, steps) if steps else None,
        )
        for steps in range(-REACH, REACH + 1)
    )


def stage_request(
    reading: Reading, choir: Choir, part: int, media: StageMedia, half_steps: int, bpm: int | None
) -> MediaRequest:
    """What to make for the stage; Refused("reading.no_part"), or ("stage.reach") for a far key.

    In the reading's own key and tempo it is what was made ahead for the board.
    """
    if not 0 <= part < len(reading.parts):
        raise Refused("reading.no_part", part=part + 1)
    if abs(half_steps) > REACH or (bpm is not None and bpm not in TEMPI):
        raise Refused("stage.reach")
    there = _moved_reading(reading, half_steps)
    line, a4_hz = as_read(there, part), choir.presentation.a4_hz
    do = line.key.pitch(0, 0, line.parts[0].do_octave)
    tempo = bpm or reading_tempo_bpm(line, choir.presentation.tempo_bpm)
    match media:
        case StageMedia.PICTURE | StageMedia.ANSWER:
            return media_request(there, choir, Arrangement.TOGETHER, part, Media.PICTURE_SVG)
        case StageMedia.KEY:
            pattern = choir.presentation.key_pattern
            giving = KeyGiving(key=line.key, do=do, pattern=pattern, tempo_bpm=tempo)
            return SoundRequest(sound=giving, a4_hz=a4_hz)
        case StageMedia.DO:
            giving = KeyGiving(key=line.key, do=do, pattern=KeyPattern.DO, tempo_bpm=tempo)
            return SoundRequest(sound=giving, a4_hz=a4_hz)
        case StageMedia.START:
            return SoundRequest(sound=StartingNote(pitch=line.first_pitch()), a4_hz=a4_hz)
        case StageMedia.DRONE:
            return SoundRequest(sound=Drone(do=do), a4_hz=a4_hz)
        case StageMedia.LINE | StageMedia.PART_LINE:
            page = _page(there, part) if media is StageMedia.LINE else line
            return SoundRequest(sound=Line(exercise=page, tempo_bpm=tempo), a4_hz=a4_hz)
    assert_never(media)


def _page(reading: Reading, part: int) -> Exercise:
    """The music in the picture: one line in one part's octave, or all lines under one another."""
    return as_read(reading, part) if len(reading.exercise.parts) == 1 else as_score(reading)


def _moved_reading(reading: Reading, half_steps: int) -> Reading:
    if half_steps == 0:
        return reading
    parts = tuple(
        replace(part, do_octave=moved(as_read(reading, index), half_steps).parts[0].do_octave)
        for index, part in enumerate(reading.parts)
    )
    return replace(reading, exercise=moved(reading.exercise, half_steps), parts=parts)


def _beyond(reading: Reading, choir: Choir, half_steps: int) -> str | None:
    """The label of the first part whose voice does not have every pitch there."""
    ranges = {voice.voice: voice.range for voice in choir.voices}
    for index, part in enumerate(reading.parts):
        limits = ranges.get(part.voice)
        line = moved(as_read(reading, index), half_steps)
        if limits is not None and not all(limits.holds(pitch) for pitch in line.pitches()):
            return part.label
    return None
