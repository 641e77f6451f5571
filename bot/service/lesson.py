"""A lesson on the stage: which choir, which line, another like it, and opening it for hearing."""

from __future__ import annotations

import asyncio
import contextlib
from dataclasses import dataclass, replace

from bot.activities.bell import by_bell, choir_in_the_room
from bot.activities.calendar import local_day, meets
from bot.activities.choir import Choir, Hearing
from bot.activities.reading import Origin, Reading
from bot.activities.way import Way
from bot.errors import NoExercise, Refused
from bot.service.card import ReadingCard
from bot.service.cards import card_of
from bot.service.choirs import Choirs
from bot.service.clock import Clock
from bot.service.composed import compose_reading
from bot.service.composing import Composing
from bot.service.content import Content
from bot.service.criteria import study_seconds
from bot.service.lesson_line import (
    HEARD_ONCE_OPEN,
    KeyChoice,
    Sign,
    StageMedia,
    key_choices,
    signs,
    stage_request,
)
from bot.service.media_requests import MediaSource
from bot.service.placing import trading_parts
from bot.service.readings import ROOM
from bot.service.turned import Turned, in_way, page_choir, turned_reading
from bot.store.database import Database
from bot.store.openings import line_is_open, open_line
from bot.store.readings import add_reading, history, next_draw, posted_readings

STAGE = "stage"  # the slot of lines that were made in the lesson itself


@dataclass(frozen=True, slots=True, kw_only=True)
class LessonLine:
    """A line as the stage needs it, in the way in which it is read.

    `trading` are two parts that can take each other's line when it is sung again. `study_s` are the
    seconds of the study clock, the published reading's own before the choir's; None to count up.
    """

    card: ReadingCard
    choir: Choir
    turned: Turned
    keys: tuple[KeyChoice, ...]
    trading: tuple[str, str] | None = None
    study_s: int | None = None

    @property
    def bare(self) -> bool:
        """Whether the rhythm alone is on the page, which has no key to name."""
        return self.card.rhythm_only or self.turned.way is Way.RHYTHM_ONLY

    @property
    def reached(self) -> tuple[KeyChoice, ...]:
        """The keys that the page can be moved to; a bare rhythm stays where it is."""
        return tuple(key for key in self.keys if not (self.bare and key.half_steps))


class Lesson:
    """What the stage asks for. Nothing here needs preparation: a line that is missing is made."""

    def __init__(
        self,
        database: Database,
        choirs: Choirs,
        composing: Composing,
        content: Content,
        media: MediaSource,
        clock: Clock,
    ) -> None:
        self._database = database
        self._choirs = choirs
        self._composing = composing
        self._content = content
        self._media = media
        self._clock = clock
        self._one_at_a_time = asyncio.Lock()

    async def choir_now(self) -> Choir | None:
        """The choir whose lesson it is; None where there is no choir yet."""
        return choir_in_the_room(await self._choirs.all(), self._clock.now())

    async def next_choir(self, choir_id: str) -> Choir:
        """The choir after this one in the order of today's bells, round and round."""
        order = by_bell(await self._choirs.all(), self._clock.now())
        at = next((n for n, choir in enumerate(order) if choir.id == choir_id), -1)
        if at < 0:
            raise Refused("choir.unknown")
        return order[(at + 1) % len(order)]

    async def line(
        self, choir_id: str, reading_id: str | None = None, way: Way = Way.PLAIN
    ) -> LessonLine:
        """The line that is asked for, else today's, else the last one that went up, else a new one.

        Raises what forbids a line where one has to be made, and Refused where it cannot be read in
        that way.
        """
        choir = await self._choirs.get(choir_id)
        if reading_id is not None:
            reading = await self._composing.find(reading_id)
            if reading.choir_id != choir_id:
                raise Refused("reading.unknown")
        else:
            reading = await self._reading_now(choir)
        say = self._content.wording
        sequence = self._content.sequences.get(choir.steps.sequence)
        return LessonLine(
            card=card_of(reading, choir, say),
            choir=choir,
            turned=turned_reading(reading, way, choir, sequence, say),
            keys=key_choices(reading, choir, say),
            trading=trading_parts(reading, choir),
            study_s=study_seconds(reading.title, self._content) or choir.presentation.study_s,
        )

    async def signs(self, reading_id: str, part: int, *, alone: bool) -> tuple[Sign, ...]:
        """When each sign of a picture comes, read together or by one part alone."""
        return signs(await self._composing.find(reading_id), part, alone=alone)

    async def another(self, choir_id: str, reading_id: str, way: Way = Way.PLAIN) -> str:
        """The id of a fresh line at the same step, which counts as read from now on.

        In the same key and length where that leaves a line; to be read from the right, one that
        keeps every rule both ways where there is one. NoExercise where none is left at all.
        """
        choir, like = await self._choirs.get(choir_id), await self._composing.find(reading_id)
        open_wish = replace(choir, steps=like.steps)
        wishes = [open_wish]
        if like.origin is Origin.COMPOSED:
            exercise = like.exercise
            near = replace(open_wish, key=exercise.key.plain, measures=exercise.measures)
            wishes.insert(0, near)
        tries = [(wish, False) for wish in wishes]
        if way is Way.RETROGRADE:
            tries = [*((wish, True) for wish in wishes), *tries]
        for wish, back_too in tries[:-1]:
            with contextlib.suppress(NoExercise):
                return (await self._fresh(wish, back_too=back_too)).id
        return (await self._fresh(tries[-1][0])).id

    async def open(self, reading_id: str) -> None:
        """Open a line for hearing, once the choir has sung it."""
        choir = await self._choirs.get((await self._composing.find(reading_id)).choir_id)
        if choir.hearing is Hearing.NEVER:
            raise Refused("stage.closed")
        async with self._database.transaction() as change:
            await open_line(change, reading_id)

    async def media(
        self,
        reading_id: str,
        part: int,
        media: StageMedia,
        half_steps: int,
        bpm: int | None,
        way: Way = Way.PLAIN,
    ) -> bytes:
        """Picture or sound in the key to which the line was moved; bpm None for its own tempo.

        Refused("stage.closed") for a line that nobody opened.
        """
        reading = await self._composing.find(reading_id)
        choir = await self._choirs.get(reading.choir_id)
        if media in HEARD_ONCE_OPEN:
            async with self._database.snapshot() as read:
                if choir.hearing is Hearing.NEVER or not await line_is_open(read, reading_id):
                    raise Refused("stage.closed")
        shown = page_choir(choir, way)
        return await self._media.get_or_make(
            stage_request(in_way(reading, media, way), shown, part, media, half_steps, bpm)
        )

    async def _reading_now(self, choir: Choir) -> Reading:
        today = local_day(self._clock.now(), choir.zone)
        if today >= choir.starts_on and meets(choir.meeting, today):
            return await self._composing.ensure(choir.id, today)
        async with self._database.snapshot() as read:
            up = await posted_readings(read, choir.id, ROOM, 1)
        return up[-1] if up else await self._fresh(choir)

    async def _fresh(self, choir: Choir, *, back_too: bool = False) -> Reading:
        """A line for a choir as it is given here, made and kept."""
        on = local_day(self._clock.now(), choir.zone)
        async with self._one_at_a_time:
            async with self._database.snapshot() as read:
                draw = await next_draw(read, choir.id, on, STAGE)
                seen = await history(read, choir.id)
            made = await asyncio.to_thread(
                compose_reading,
                choir,
                self._content,
                on,
                draw,
                tuple(seen.values()),
                STAGE,
                back_too=back_too,
                tables=self._composing.tables,
            )
            async with self._database.transaction() as change:
                await add_reading(change, made)
        return made
