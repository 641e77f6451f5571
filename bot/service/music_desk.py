"""What the desk does with music beside the readings: look at it, take it along, hear singers.

Pictures come from the media process; everything else that is slow runs in a thread.
"""

from __future__ import annotations

import asyncio
import secrets
from dataclasses import dataclass, replace
from datetime import date

from bot.activities.choir import Choir
from bot.errors import InputProblems
from bot.media.request import Engraved, EngravingRequest
from bot.music.voice import Clef
from bot.notation.abc_write import exercise_to_abc
from bot.notation.brought import Brought, read_written
from bot.service.cards import title_of
from bot.service.checking import Asked, Findings, look_at
from bot.service.choirs import Choirs
from bot.service.composing import Composing
from bot.service.content import Content
from bot.service.criteria import compose_to_criteria, find_criteria, reading_title
from bot.service.export import Format, Page, export, request_for
from bot.service.hearing import HearingWish, hearing_lines, line_requests, printed_hearing
from bot.service.media_requests import MediaSource, page_of

_MIDDLE_C = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class Looked:
    """What was found in music: its pictures as SVG, and what each part of the choir says to it.

    `voices` pairs a part's label with one sentence for each line of the music. `written` is the
    music as a form can send it back, empty where that would lose something of it.
    """

    picture: str
    phone_picture: str
    findings: Findings
    voices: tuple[tuple[str, tuple[str, ...]], ...]
    written: str


class MusicDesk:
    """Nothing that comes in here is kept."""

    def __init__(
        self, choirs: Choirs, composing: Composing, content: Content, media: MediaSource
    ) -> None:
        self._choirs, self._composing = choirs, composing
        self._content, self._media = content, media

    async def look(self, choir: Choir, music: Brought, name: str, criteria: str) -> Looked:
        """Hold music against a choir's steps and ranges, and a published criterion if one is named.

        InputProblems where the criterion is unknown, RenderFailed where there is no picture.
        """
        steps = choir.steps
        asked = Asked(
            steps=(steps.pitch, steps.rhythm, steps.voice),
            criteria=criteria or None,
            sequence=steps.sequence,
        )
        findings = await asyncio.to_thread(look_at, music, name, self._content, asked)
        voices = []
        for voice in choir.voices:
            own = replace(asked, criteria=None, voice=voice.voice, limits=voice.range)
            sung = await asyncio.to_thread(look_at, music, name, self._content, own)
            voices.append((voice.label, tuple(part.voice for part in sung.parts)))
        page = Page(
            exercise=music.exercise,
            clefs=tuple(_clef(music, part) for part in range(len(music.exercise.parts))),
            solfa=choir.presentation.solfa,
        )
        drawn = _drawn(page)
        phone = replace(drawn, phone=True)
        return Looked(
            picture=(await self._media.get_or_make(drawn)).decode(),
            phone_picture=(await self._media.get_or_make(phone)).decode(),
            findings=findings,
            voices=tuple(voices),
            written=_written(music),
        )

    async def along(self, choir_id: str, on: date, kind: Format) -> bytes:
        """The line of a day in a format; Refused where it is none, or cannot be held by it."""
        choir = await self._choirs.get(choir_id)
        reading = await self._composing.ensure(choir_id, on)
        page = page_of(reading, choir, title_of(reading, self._content.wording))
        wanted = request_for(page, kind)
        drawn = None if wanted is None else await self._media.get_or_make(wanted)
        return await asyncio.to_thread(export, page, kind, self._content.wording, drawn)

    async def set_reading(self, choir_id: str, on: date, name: str) -> None:
        """A line inside a published reading for a date, for the choir's first part.

        InputProblems where the criterion is unknown or another part cannot sing the line,
        NoExercise where the part's voice holds none, Refused("reading.posted") where it is too
        late.
        """
        choir = await self._choirs.get(choir_id)
        criteria, task = find_criteria(name, self._content)
        exercise = await asyncio.to_thread(
            compose_to_criteria,
            name,
            self._content,
            choir.voices[0].voice,
            key=None,
            seed=secrets.randbits(31),
            sequence=choir.steps.sequence,
        )
        title = reading_title(criteria, task or criteria.tasks[0], self._content.wording)
        await self._composing.use_own(choir_id, on, exercise, title, title)

    async def hearing(self, wish: HearingWish) -> bytes:
        """A hearing sheet as PDF; raises like `hearing_lines`."""
        found = await asyncio.to_thread(hearing_lines, wish, self._content)
        drawn = [
            (await self._media.get_or_make(request)).decode()
            for request in line_requests(found, wish)
        ]
        return await asyncio.to_thread(printed_hearing, found, drawn, self._content.wording)


def _written(music: Brought) -> str:
    """The music as ABC where that reads back whole, else nothing."""
    abc = exercise_to_abc(music.exercise, title=music.title)
    try:
        same = read_written(abc, music.title).exercise == music.exercise
    except InputProblems:
        return ""
    return abc if same else ""


def _drawn(page: Page) -> EngravingRequest:
    request = request_for(page, Format.SVG)
    assert request is not None
    return replace(request, kind=Engraved.SVG)


def _clef(music: Brought, part: int) -> Clef:
    pitches = music.exercise.pitches(part)
    return Clef.BASS if pitches and max(pitches).midi <= _MIDDLE_C else Clef.TREBLE
