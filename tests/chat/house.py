"""Services for the room's tests, kept in memory: choirs, cards, pictures by a real engraver.

They keep the promises of `bot/service` as far as the room relies on them, and count what is asked.
"""

from __future__ import annotations

import io
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, time, timedelta
from functools import cache
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import soundfile

from bot.activities.calendar import Meeting, Weekdays
from bot.activities.choir import Choir, ChoirVoice, Steps
from bot.errors import Fault, InputProblems, Refused
from bot.music.voice import DEFAULT_RANGES, Clef, Voice
from bot.notation.engrave import EngravingStyle, svg
from bot.notation.write import musicxml
from bot.service.card import Arrangement, CardPart, Media, ReadingCard
from bot.service.content import load_content
from bot.service.readings import Upcoming, UpcomingState
from bot.service.services import Services
from bot.wording import Wording
from tests.chat.desk_house import MemoryDesk, MemoryStatus
from tests.chat.lesson_house import MemoryLesson, a_line_of
from tests.chat.match_house import NoMatches, NoPlans
from tests.chat.play_house import no_play
from tests.chat.seat_house import no_seating
from tests.chat.story_house import NoMakings, no_stories
from tests.fakes.clock import FakeClock

ZONE = "America/Chicago"
MONDAY = date(2025, 11, 24)
MONDAY_MORNING = datetime(2025, 11, 24, 15, 0, tzinfo=UTC)  # nine o'clock in Chicago
PASSPHRASE = "cabbage violet ladder nineteen"
_ROOT = Path(__file__).parents[2]
_Q, _H = "1/4", "1/2"
_LINE: tuple[tuple[tuple[int | None, str], ...], ...] = (
    ((0, _Q), (1, _Q), (2, _Q), (0, _Q)),
    ((2, _Q), (3, _Q), (4, _H)),
    ((4, _Q), (3, _Q), (2, _Q), (1, _Q)),
    ((2, "3/4"), (None, _Q)),
    ((0, _H), (2, _Q), (4, _Q)),
    ((3, _Q), (2, _Q), (1, _H)),
    ((2, _Q), (1, _Q), (0, _Q), (1, _Q)),
    ((0, "1"),),
)


@cache
def wording() -> Wording:
    """The program's own words."""
    return load_content([_ROOT / "content"]).wording


@cache
def engraving(*, phone: bool) -> bytes:
    """A real engraving of one small line in F."""
    line = a_line_of(_LINE)
    style = EngravingStyle(phone=phone)
    return svg(musicxml(line, clefs=(Clef.TREBLE,)), style).encode()


@cache
def sound() -> bytes:
    """Half a second of A as an MP3 file."""
    samples = 0.2 * np.sin(2 * np.pi * 440 * np.arange(22050) / 44100)
    buffer = io.BytesIO()
    soundfile.write(buffer, samples, 44100, format="MP3")
    return buffer.getvalue()


def a_choir(choir_id: str = "c1", name: str = "Period 3 Treble", **changes: object) -> Choir:
    """A choir that meets every weekday at eight in Chicago."""
    choir = Choir(
        id=choir_id,
        name=name,
        voices=(
            _voice(Voice.TREBLE, "Part I", Clef.TREBLE),
            _voice(Voice.CHANGING, "Part II", Clef.TREBLE8),
            _voice(Voice.BARITONE, "Part III", Clef.BASS),
        ),
        steps=Steps(),
        zone=ZONE,
        meeting=Meeting(pattern=Weekdays(days=frozenset(range(5)))),
        post_at=time(8, 0),
        starts_on=date(2025, 9, 1),
    )
    return replace(choir, **changes)


def _voice(voice: Voice, label: str, clef: Clef) -> ChoirVoice:
    return ChoirVoice(voice=voice, label=label, range=DEFAULT_RANGES[voice], clef=clef)


def a_card(choir: Choir, on: date, **changes: object) -> ReadingCard:
    """A card of that choir for that day."""
    parts = tuple(
        CardPart(
            voice=voice.voice,
            label=voice.label,
            start="F",
            apart_key=key,
            text=f"Measure 1: as {voice.label} sings it.",
        )
        for voice, key in zip(choir.voices, ("E♭ major", "C major", "B♭ major"), strict=False)
    )
    card = ReadingCard(
        key=f"{choir.id} {on} daily",
        reading_id=f"{choir.id}-{on:%Y%m%d}",
        choir_id=choir.id,
        choir_name=choir.name,
        on=on,
        title="Today's line",
        key_name="F major",
        metre="4/4",
        measures=8,
        tempo_bpm=69,
        pulses=4,
        count_in=1,
        text="F major, 4/4, 8 measures.\nMeasure 1: four quarter notes.\nMeasure 2: do, B♭ is fa.",
        parts=parts,
        gives_pitch=True,
    )
    return replace(card, **changes)


@dataclass
class MemoryChoirs:
    """Choirs in a dictionary."""

    kept: dict[str, Choir] = field(default_factory=dict)

    async def all(self) -> tuple[Choir, ...]:
        return tuple(self.kept.values())

    async def get(self, choir_id: str) -> Choir:
        if choir_id not in self.kept:
            raise Refused("choir.unknown")
        return self.kept[choir_id]

    async def add(self, choir: Choir) -> None:
        self.kept[choir.id] = choir

    async def change(self, choir: Choir) -> None:
        self.kept[choir.id] = choir

    async def remove(self, choir_id: str) -> None:
        del self.kept[choir_id]


@dataclass
class MemoryReadings:
    """Cards in a list; `own_faults` is what `use_own_music` finds wrong."""

    choirs: MemoryChoirs
    clock: FakeClock
    up: list[ReadingCard] = field(default_factory=list)
    own_faults: tuple[Fault, ...] = ()
    asked: list[tuple[object, ...]] = field(default_factory=list)
    broken: Exception | None = None
    shut: bool = False  # no line is open for hearing
    pinned: set[date] = field(default_factory=set)
    changes: int = 0

    @property
    def revision(self) -> int:
        """Another number each time: a test changes what is kept here as it likes."""
        self.changes += 1
        return self.changes

    async def board(self, choir_id: str, limit: int = 20) -> tuple[ReadingCard, ...]:
        return tuple(card for card in self.up if card.choir_id == choir_id)[-limit:]

    async def card(self, reading_id: str) -> ReadingCard:
        for card in self.up:
            if card.reading_id == reading_id:
                return card
        raise Refused("reading.unknown")

    async def media(
        self, reading_id: str, arrangement: Arrangement, part: int, media: Media
    ) -> bytes:
        if self.broken is not None:
            raise self.broken
        if self.shut and media is Media.LINE_SOUND:
            raise Refused("stage.closed")
        if part > 2:
            raise Refused("reading.no_part")
        if media in (Media.KEY_SOUND, Media.PITCH_SOUND, Media.LINE_SOUND):
            return sound()
        return engraving(phone=media is Media.PHONE_PICTURE)

    async def example(self, choir: Choir) -> bytes:
        if choir.steps.pitch == "p01" and len(choir.voices) == 3:
            raise Refused("form.example_none")
        return engraving(phone=True)

    async def upcoming(self, choir_id: str, count: int = 5) -> tuple[Upcoming, ...]:
        choir = await self.choirs.get(choir_id)
        zone = ZoneInfo(choir.zone)
        on, days = self.clock.now().astimezone(zone).date(), []
        while len(days) < count:
            if on.weekday() < 5 and on not in choir.meeting.days_off:
                days.append(self._day(choir, on, zone))
            on += timedelta(days=1)
        return tuple(days)

    def _day(self, choir: Choir, on: date, zone: ZoneInfo) -> Upcoming:
        posted = any(card.on == on and card.choir_id == choir.id for card in self.up)
        return Upcoming(
            on=on,
            at=datetime.combine(on, choir.post_at, zone),
            reading_id=None,
            title="8 measures in F major",
            summary="4/4, 69 beats a minute",
            state=UpcomingState.POSTED if posted else UpcomingState.READY,
            steps=choir.steps,
            pinned=on in self.pinned,
        )

    async def preview(self, choir_id: str, on: date) -> ReadingCard:
        return a_card(await self.choirs.get(choir_id), on)

    async def redraw(self, choir_id: str, on: date) -> ReadingCard:
        if any(card.on == on for card in self.up):
            raise Refused("reading.posted")
        self.asked.append(("redraw", choir_id, on))
        return await self.preview(choir_id, on)

    async def swap_steps(self, choir_id: str, on: date, pitch: str, rhythm: str) -> ReadingCard:
        if on in self.pinned:
            raise Refused("reading.pinned")
        self.asked.append(("swap", choir_id, on, pitch, rhythm))
        return await self.preview(choir_id, on)

    async def pin(self, choir_id: str, on: date, *, pinned: bool) -> None:
        (self.pinned.add if pinned else self.pinned.discard)(on)

    async def use_own_music(self, choir_id: str, on: date, data: bytes, file: str) -> ReadingCard:
        if self.own_faults:
            raise InputProblems(self.own_faults)
        self.asked.append(("music", choir_id, on, data, file))
        return await self.preview(choir_id, on)

    async def post_now(self, choir_id: str) -> ReadingCard:
        self.asked.append(("post", choir_id))
        return await self.preview(choir_id, MONDAY)


def services_of(content: object, *choirs: Choir, now: datetime = MONDAY_MORNING) -> Services:
    """Services in memory over some content, with these choirs."""
    clock = FakeClock(now)
    kept = MemoryChoirs({choir.id: choir for choir in choirs})
    return Services(
        content=content,
        clock=clock,
        choirs=kept,
        readings=MemoryReadings(kept, clock),
        lesson=MemoryLesson(kept, wording(), a_line_of(_LINE)),
        desk=MemoryDesk(),
        status=MemoryStatus(kept),
        # Their pages are tested over the real service, in test_room_paper.py.
        papers=None,
        play=no_play(),
        matches=NoMatches(),
        stories=no_stories(),
        plans=NoPlans(kept),
        pacing=None,
        makings=NoMakings(),
        seating=no_seating(kept),
        # Real ones over a database: tests/chat/discord/stage.py.
        discord=None,
    )


def a_week_of_cards(choir: Choir, last: date = MONDAY, count: int = 5) -> list[ReadingCard]:
    """Cards of the last school days up to and with `last`, oldest first."""
    days, on = [], last
    while len(days) < count:
        if on.weekday() < 5:
            days.append(on)
        on -= timedelta(days=1)
    return [a_card(choir, day) for day in reversed(days)]
