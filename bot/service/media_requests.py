"""What to ask the media worker for: a reading's pictures and sounds as requests. Pure."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Protocol, assert_never

from bot.activities.choir import Choir
from bot.activities.reading import Reading
from bot.activities.tempo import reading_tempo_bpm
from bot.errors import Refused
from bot.media.request import (
    Engraved,
    EngravingRequest,
    KeyGiving,
    Line,
    MediaRequest,
    SoundRequest,
    StartingNote,
)
from bot.music.exercise import Exercise
from bot.music.solfa import Naming
from bot.music.voice import Clef
from bot.service.card import Arrangement, Media
from bot.service.export import Page
from bot.service.placing import as_read, as_read_apart, as_score
from bot.service.shown_page import page_shown


class MediaSource(Protocol):
    """Where bytes come from: the cache in front of the worker."""

    async def get_or_make(self, request: MediaRequest) -> bytes:
        """Bytes of a request; RenderFailed where they cannot be made."""
        ...


def media_request(
    reading: Reading, choir: Choir, arrangement: Arrangement, part: int, media: Media
) -> MediaRequest:
    """The request for one picture or sound; Refused("reading.no_part") for a part it lacks.

    Refused("reading.one_line") for the sound of all lines of a reading that has one.
    """
    if not 0 <= part < len(reading.parts):
        raise Refused("reading.no_part", part=part + 1)
    match arrangement:
        case Arrangement.TOGETHER:
            line = as_read(reading, part)
        case Arrangement.APART:
            line = as_read_apart(reading, part)
        case _:
            assert_never(arrangement)
    match media:
        case Media.KEY_SOUND | Media.PITCH_SOUND | Media.LINE_SOUND:
            return _sound(line, choir, media)
        case Media.ALL_SOUND:
            if arrangement is Arrangement.APART or len(reading.exercise.parts) == 1:
                raise Refused("reading.one_line")
            return _sound(as_score(reading), choir, Media.LINE_SOUND)
        case Media.PICTURE | Media.PICTURE_SVG | Media.PHONE_PICTURE | Media.SHEET_PICTURE:
            return _picture(reading, choir, arrangement, part, media)
        case _:
            assert_never(media)


def score_request(reading: Reading) -> EngravingRequest:
    """The request for a reading as MusicXML, one part for each voice."""
    return EngravingRequest(
        exercise=as_score(reading),
        clefs=tuple(part.clef for part in reading.parts),
        labels=tuple(part.label for part in reading.parts),
        kind=Engraved.MUSICXML,
    )


def page_of(reading: Reading, choir: Choir, title: str) -> Page:
    """A reading as it can be taken along: a line alone, or every part on its staff."""
    exercise, clefs, labels = _page(reading, Arrangement.TOGETHER, 0)
    shown = choir.presentation
    return Page(
        exercise=exercise,
        clefs=clefs,
        labels=labels,
        title=title,
        options=page_shown(reading, choir),
        solfa=shown.solfa,
        mark_do=shown.mark_do,
        tempo_bpm=reading_tempo_bpm(exercise, shown.tempo_bpm),
    )


def all_requests(reading: Reading, choir: Choir) -> Iterator[MediaRequest]:
    """Everything that a reading's pages may ask for, what the class sees first in front."""
    for arrangement in Arrangement:
        for part in range(len(reading.parts)):
            for media in Media:
                if media is not Media.ALL_SOUND:
                    yield media_request(reading, choir, arrangement, part, media)
    if len(reading.exercise.parts) > 1:
        yield media_request(reading, choir, Arrangement.TOGETHER, 0, Media.ALL_SOUND)


def _sound(line: Exercise, choir: Choir, media: Media) -> SoundRequest:
    shown = choir.presentation
    if media is Media.PITCH_SOUND:
        return SoundRequest(sound=StartingNote(pitch=line.first_pitch()), a4_hz=shown.a4_hz)
    tempo_bpm = reading_tempo_bpm(line, shown.tempo_bpm)
    if media is Media.LINE_SOUND:
        return SoundRequest(sound=Line(exercise=line, tempo_bpm=tempo_bpm), a4_hz=shown.a4_hz)
    giving = KeyGiving(
        key=line.key,
        do=line.key.pitch(0, 0, line.parts[0].do_octave),
        pattern=shown.key_pattern,
        tempo_bpm=tempo_bpm,
    )
    return SoundRequest(sound=giving, a4_hz=shown.a4_hz)


def _picture(
    reading: Reading, choir: Choir, arrangement: Arrangement, part: int, media: Media
) -> EngravingRequest:
    exercise, clefs, labels = _page(reading, arrangement, part)
    solfa = choir.presentation.solfa
    numbers = solfa.naming is Naming.NUMBERS
    return EngravingRequest(
        exercise=exercise,
        clefs=clefs,
        labels=labels,
        kind=Engraved.PNG if media is Media.PICTURE else Engraved.SVG,
        mark_do=choir.presentation.mark_do,
        # Numbers count from the tonic in minor too; letters have no word of their own for do.
        do_name="1" if numbers else "do",
        do_is_tonic=numbers or solfa.do_based_minor,
        phone=media is Media.PHONE_PICTURE,
        sheet=media is Media.SHEET_PICTURE,
        page=page_shown(reading, choir),
        solfa=solfa,
    )


def _page(
    reading: Reading, arrangement: Arrangement, part: int
) -> tuple[Exercise, tuple[Clef, ...], tuple[str, ...]]:
    """What stands on a page: one line without a label, or all lines of music in parts."""
    shown = reading.parts[part]
    if arrangement is Arrangement.APART:
        return as_read_apart(reading, part), (shown.clef,), ()
    if len(reading.exercise.parts) == 1:
        return as_read(reading, part), (shown.clef,), ()
    parts = reading.parts
    return as_score(reading), tuple(p.clef for p in parts), tuple(p.label for p in parts)
