"""Readings as the desk and the surfaces ask for them: cards, media, what is coming, changes."""

from __future__ import annotations

import asyncio
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum
from pathlib import PurePath

from bot.activities.calendar import in_zone, local_day
from bot.activities.choir import Choir, Hearing, Steps
from bot.activities.plan import PlannedDay, coming, planned
from bot.activities.reading import Origin, Reading
from bot.activities.reading_day import Phase
from bot.errors import InputProblems, Refused
from bot.notation.brought import read_music
from bot.service.card import HEARD_AFTER_A_TRY, Arrangement, Media, ReadingCard
from bot.service.cards import Cards, card_of, summary_of, title_of
from bot.service.changes import Changes
from bot.service.choirs import Choirs
from bot.service.clock import Clock
from bot.service.composing import Composing
from bot.service.deliver import Deliver
from bot.service.media_requests import MediaSource, media_request, score_request
from bot.service.mystery import TUNE
from bot.service.outlet import Outlet, Outlets
from bot.service.preparing import TASK as PREPARING
from bot.service.shown_page import page_shown
from bot.service.troubles import Troubles, sentence
from bot.store.database import Database
from bot.store.deliveries import begun, find_day
from bot.store.openings import line_is_open
from bot.store.readings import current_reading, posted_readings
from bot.wording import Wording

_TITLE = 80  # characters of a title that a sheet has room for
ROOM = "room"  # the surface whose postings make up the board


class UpcomingState(StrEnum):
    """How far a coming reading is."""

    PLANNED = "planned"  # a meeting day; its line is not composed yet
    READY = "ready"  # composed, can still be redrawn
    POSTED = "posted"  # up on a surface; nothing changes it any more
    REFUSED = "refused"  # no line exists for the steps and voices; `summary` says why


@dataclass(frozen=True, slots=True, kw_only=True)
class Upcoming:
    """One coming meeting day; `at` is the posting time, aware, in the choir's own zone.

    `steps` are those of its line, the choir's own where there is none yet.
    """

    on: date
    at: datetime
    reading_id: str | None
    title: str
    summary: str
    state: UpcomingState
    steps: Steps
    pinned: bool = False
    swapped: bool = False


class Readings:
    """What the desk and the surfaces ask about readings.

    A card can be asked for before it is up: its id is not to be guessed.
    """

    def __init__(
        self,
        *,
        database: Database,
        choirs: Choirs,
        composing: Composing,
        deliver: Deliver,
        media: MediaSource,
        clock: Clock,
        changes: Changes,
        troubles: Troubles,
        say: Wording,
        outlets: Outlets,
    ) -> None:
        self._database = database
        self._choirs = choirs
        self._composing = composing
        self._deliver = deliver
        self._media = media
        self._clock = clock
        self._changes = changes
        self._troubles = troubles
        self._say = say
        self._outlets = outlets
        self._cards = Cards(say)

    @property
    def revision(self) -> int:
        """Another number after each change of anything that a board may show."""
        return self._database.revision

    async def board(self, choir_id: str, limit: int = 20) -> tuple[ReadingCard, ...]:
        """The last cards that are up in the room, oldest first.

        A claimed card counts: once the claim is kept, the room shows it whatever happens then.
        """
        choir = await self._choirs.get(choir_id)
        async with self._database.snapshot() as read:
            readings = await posted_readings(read, choir_id, ROOM, limit)
        return tuple(self._cards.of(reading, choir) for reading in readings)

    async def card(self, reading_id: str) -> ReadingCard:
        """One card; Refused("reading.unknown") where there is none."""
        return self._cards.of(*await self._find(reading_id))

    async def media(
        self, reading_id: str, arrangement: Arrangement, part: int, media: Media
    ) -> bytes:
        """Picture or sound of one part; Refused("reading.no_part"), RenderFailed.

        Refused("stage.closed") for the sound of a line that is not to be heard yet.
        """
        reading, choir = await self._find(reading_id)
        if media in HEARD_AFTER_A_TRY and not await self._may_be_heard(reading, choir):
            raise Refused("stage.closed")
        request = media_request(reading, choir, arrangement, part, media)
        return await self._media.get_or_make(request)

    async def musicxml(self, reading_id: str) -> bytes:
        """The reading as MusicXML, one part for each voice."""
        reading, _ = await self._find(reading_id)
        return await self._media.get_or_make(score_request(reading))

    async def example(self, choir: Choir) -> bytes:
        """A phone picture of a line such as this choir would read; nothing is kept of it.

        Refused or InputProblems where no line can be made for it.
        """
        reading = await self._composing.example(choir)
        request = media_request(reading, choir, Arrangement.TOGETHER, 0, Media.PHONE_PICTURE)
        return await self._media.get_or_make(request)

    async def upcoming(self, choir_id: str, count: int = 5) -> tuple[Upcoming, ...]:
        """Today's meeting, if there is one, and those after it."""
        choir = await self._choirs.get(choir_id)
        plans = coming(choir, self._clock.now(), count)
        async with self._database.snapshot() as read:
            found = [
                (
                    plan,
                    await current_reading(read, choir_id, plan.on),
                    await begun(read, choir_id, plan.on),
                )
                for plan in plans
            ]
        return tuple(self._upcoming(choir, *item) for item in found)

    async def preview(self, choir_id: str, on: date) -> ReadingCard:
        """The card that will be posted on that date; composed now if it was not yet."""
        choir = await self._choirs.get(choir_id)
        return card_of(await self._composing.ensure(choir_id, on), choir, self._say)

    async def redraw(self, choir_id: str, on: date) -> ReadingCard:
        """Another line for a date that is not posted yet; Refused("reading.posted") after."""
        choir = await self._choirs.get(choir_id)
        reading = await self._composing.redraw(choir_id, on)
        self._changes.ring()
        return card_of(reading, choir, self._say)

    async def swap_steps(self, choir_id: str, on: date, pitch: str, rhythm: str) -> ReadingCard:
        """A line at other steps for one date, as `Composing.swap_steps` says."""
        choir = await self._choirs.get(choir_id)
        reading = await self._composing.swap_steps(choir_id, on, pitch, rhythm)
        self._changes.ring()
        return card_of(reading, choir, self._say)

    async def pin(self, choir_id: str, on: date, *, pinned: bool) -> None:
        """Hold the line of a date whatever the choir's steps become, or let it go again."""
        await self._composing.pin(choir_id, on, pinned=pinned)

    async def use_own_music(self, choir_id: str, on: date, data: bytes, file: str) -> ReadingCard:
        """The director's own music for a date: MusicXML, ABC, MIDI or sol-fa letters.

        InputProblems lists all that is wrong.
        """
        choir = await self._choirs.get(choir_id)
        music = await asyncio.to_thread(read_music, data, file)
        stem = PurePath(file.replace("\\", "/")).stem.strip()
        title = (music.title or stem or self._say("own_music.title"))[:_TITLE]
        reading = await self._composing.use_own(choir_id, on, music.exercise, file, title)
        self._changes.ring()
        return card_of(reading, choir, self._say)

    async def post_now(self, choir_id: str) -> ReadingCard:
        """Put today's line up now, wherever it is not up yet; send an unsure one once more.

        Refused("reading.posted") where it is up everywhere, SurfaceUnavailable or TimeoutError
        where a surface did not answer (the scheduler tries again).
        """
        choir = await self._choirs.get(choir_id)
        plan = planned(choir, local_day(self._clock.now(), choir.zone))
        news = [
            await self._post_now(choir, plan, outlet) for outlet in await self._outlets.of(choir_id)
        ]
        if not any(news):
            raise Refused("reading.posted")
        self._changes.ring()
        return await self.preview(choir_id, plan.on)

    async def _post_now(self, choir: Choir, plan: PlannedDay, outlet: Outlet) -> bool:
        """Whether there was something left to post."""
        async with self._database.snapshot() as read:
            kept = await find_day(read, choir.id, plan.on, outlet.name)
        if kept is not None and kept.phase is Phase.SENT:
            return False
        if kept is not None and kept.phase is Phase.UNSURE:
            await self._deliver.send_again(choir, plan, outlet)
        else:
            await self._deliver.visit(choir, plan, outlet, at_once=True)
        return True

    async def _may_be_heard(self, reading: Reading, choir: Choir) -> bool:
        """Each singer tries first where the choir trusts them to; else the director opens it.

        A mystery tune is opened by being told, whatever the choir does with its lines.
        """
        if choir.hearing is Hearing.NEVER:
            return False
        if choir.hearing is Hearing.TRY and reading.slot != TUNE:
            return True
        async with self._database.snapshot() as read:
            return await line_is_open(read, reading.id)

    async def _find(self, reading_id: str) -> tuple[Reading, Choir]:
        reading = await self._composing.find(reading_id)
        return reading, await self._choirs.get(reading.choir_id)

    def _upcoming(
        self, choir: Choir, plan: PlannedDay, reading: Reading | None, posted: bool
    ) -> Upcoming:
        title, summary, state = self._say("reading.planned"), "", UpcomingState.PLANNED
        if reading is not None:
            state = UpcomingState.POSTED if posted else UpcomingState.READY
            bare = page_shown(reading, choir).rhythm_only
            title, summary = (
                title_of(reading, self._say, bare=bare),
                summary_of(reading, choir, self._say),
            )
            if companions := self._composing.companion_words(reading):
                summary = f"{summary}. {companions}"
        elif isinstance(
            trouble := self._troubles.last(choir.id, PREPARING), Refused | InputProblems
        ):
            state, summary = UpcomingState.REFUSED, sentence(trouble, self._say)
        return Upcoming(
            on=plan.on,
            at=in_zone(plan.due, choir.zone),
            reading_id=None if reading is None else reading.id,
            title=title,
            summary=summary,
            state=state,
            steps=choir.steps if reading is None else reading.steps,
            pinned=reading is not None and reading.pinned,
            swapped=reading is not None
            and not posted
            and reading.origin is Origin.COMPOSED
            and reading.steps != choir.steps,
        )
