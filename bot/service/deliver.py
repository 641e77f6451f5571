"""Posting exactly once: claim, send, record; and how to go on after a crash.

The rules are in activities/reading_day.py; here they meet the database and a surface. Whatever
dies at whatever await, the next visit finds in the row what it needs to go on.
"""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Awaitable, Callable, Mapping
from datetime import date, timedelta
from types import MappingProxyType
from typing import assert_never
from weakref import WeakValueDictionary

from bot.activities.choir import Choir
from bot.activities.plan import PlannedDay, ended, planned
from bot.activities.reading import DAILY
from bot.activities.reading_day import (
    Arrived,
    Claimed,
    Composed,
    DayEnded,
    Doubted,
    Effect,
    Event,
    Move,
    Phase,
    ReadingDay,
    announce,
    apply,
    in_doubt,
    next_move,
)
from bot.errors import Refused, SurfaceUnavailable
from bot.service.card import Card, ReadingCard
from bot.service.cards import card_of
from bot.service.clock import Clock
from bot.service.composing import Composing
from bot.service.outlet import Outlet
from bot.store.choirs import choir_added_on
from bot.store.database import Database
from bot.store.deliveries import begin_day, days_of, find_day, last_day, settle_day
from bot.store.readings import current_reading
from bot.wording import Wording

_log = logging.getLogger(__name__)

TIME_LIMIT_S = 30.0  # for one call of a surface

# The card of a slot, around the card of its line.
CardMaker = Callable[[Choir, ReadingCard, ReadingDay], Awaitable[Card]]


class Deliver:
    """One visit at a time for a choir and surface: scheduler and desk may call at one moment."""

    def __init__(
        self,
        database: Database,
        composing: Composing,
        clock: Clock,
        say: Wording,
        makers: Mapping[str, CardMaker] = MappingProxyType({}),
    ) -> None:
        """`makers` make the cards of other slots than the daily one, whose lines are there.

        They stand by the slot's name, or by what it begins with: `match` for `match-3`.
        """
        self._database = database
        self._composing = composing
        self._clock = clock
        self._say = say
        self._makers = makers
        self._turns: WeakValueDictionary[tuple[str, str], asyncio.Lock] = WeakValueDictionary()

    async def visit(
        self,
        choir: Choir,
        plan: PlannedDay,
        outlet: Outlet,
        *,
        at_once: bool = False,
        reading_id: str | None = None,
    ) -> ReadingDay:
        """Do what a day asks for now; `at_once` posts before the day is due.

        `reading_id` is the line of the slot; without it, the one that stands for the date.

        Raises SurfaceUnavailable or TimeoutError where the surface did not answer, and whatever
        forbids a line; the next visit goes on from there.
        """
        async with self._turn(choir, outlet):
            day = await self._find(choir, plan, outlet)
            now = self._clock.now()
            due = min(plan.due, now) if at_once else plan.due
            match next_move(day, now, due, plan.ends):
                case Move.WAIT | Move.NOTHING:
                    return day
                case Move.MISS:
                    return await self._change(day, DayEnded(at=now))
                case Move.CLAIM:
                    if plan.slot == DAILY:
                        await self._composing.ensure(choir.id, plan.on)
                    claimed = await self._claim(day, reading_id)
                    if Effect.SEND in announce(day, claimed):
                        return await self._send(choir, claimed, outlet)
                    return claimed
                case Move.SEND_AGAIN:
                    return await self._send(choir, day, outlet)
                case Move.LOOK_FIRST:
                    return await self._look(choir, day, plan, outlet)
            assert_never(day)

    async def send_again(self, choir: Choir, plan: PlannedDay, outlet: Outlet) -> ReadingDay:
        """Send an unsure day once more because the director looked and it is not there."""
        async with self._turn(choir, outlet):
            day = await self._find(choir, plan, outlet)
            return await self._send(choir, day, outlet) if day.phase is Phase.UNSURE else day

    async def close(self, choir: Choir, outlet: Outlet, since: date = date.min) -> None:
        """Mark the days that ended since the last one known as missed, none before `since`."""
        now = self._clock.now()
        async with self._database.snapshot() as read:
            last = await last_day(read, choir.id, outlet.name)
            if last is None:
                last = await choir_added_on(read, choir.id) - timedelta(days=1)
        if since > last:
            last = since - timedelta(days=1)
        plans = tuple(ended(choir, last, now))
        if not plans:
            return  # on most visits, and a thousand choirs are visited at one moment
        async with self._database.transaction() as change:
            for plan in plans:
                day = _planned(choir, plan, outlet)
                missed = apply(day, DayEnded(at=now))
                if await begin_day(change, missed):
                    _tell(day, missed)

    async def unsettled(self, choir: Choir, outlet: Outlet) -> tuple[PlannedDay, ...]:
        """Days whose posting began and is not known to have arrived."""
        async with self._database.snapshot() as read:
            days = await days_of(read, choir.id, Phase.CLAIMED, Phase.UNSURE)
        return tuple(
            planned(choir, day.on)
            for day in days
            if (day.surface, day.slot) == (outlet.name, DAILY)
        )

    def _turn(self, choir: Choir, outlet: Outlet) -> asyncio.Lock:
        return self._turns.setdefault((choir.id, outlet.name), asyncio.Lock())

    async def _find(self, choir: Choir, plan: PlannedDay, outlet: Outlet) -> ReadingDay:
        async with self._database.snapshot() as read:
            kept = await find_day(read, choir.id, plan.on, outlet.name, plan.slot)
        return kept or _planned(choir, plan, outlet)

    async def _claim(self, day: ReadingDay, reading_id: str | None) -> ReadingDay:
        """Claim with the line given, or that which stands for the date in this very transaction."""
        async with self._database.transaction() as change:
            if reading_id is None:
                reading = await current_reading(change, day.choir_id, day.on, day.slot)
                if reading is None:
                    raise Refused("reading.changing")
                reading_id = reading.id
            composed = apply(day, Composed(reading_id=reading_id))
            claimed = apply(composed, Claimed(at=self._clock.now()))
            if not await begin_day(change, claimed):
                raise Refused("reading.changing")
            return claimed

    async def _change(self, before: ReadingDay, event: Event) -> ReadingDay:
        """Keep what an event makes of a day, then say what there is to say about it."""
        after = apply(before, event)
        async with self._database.transaction() as change:
            if not await begin_day(change, after):
                await settle_day(change, after)
        _tell(before, after)
        return after

    async def _send(self, choir: Choir, day: ReadingDay, outlet: Outlet) -> ReadingDay:
        card = await self._card(choir, day)
        async with asyncio.timeout(TIME_LIMIT_S):
            message_id = await outlet.post(card, day.nonce)
        return await self._change(day, Arrived(message_id=message_id, at=self._clock.now()))

    async def _look(
        self, choir: Choir, day: ReadingDay, plan: PlannedDay, outlet: Outlet
    ) -> ReadingDay:
        """Look for the card on the surface before anything is sent a second time."""
        card = await self._card(choir, day)
        now = self._clock.now()
        try:
            async with asyncio.timeout(TIME_LIMIT_S):
                message_id = await outlet.find(card)
        except (SurfaceUnavailable, TimeoutError):
            if day.phase is Phase.CLAIMED and in_doubt(day, now, plan.ends):
                return await self._change(day, Doubted(at=now))
            raise
        if message_id is not None:
            return await self._change(day, Arrived(message_id=message_id, at=now))
        if now >= plan.ends:
            return await self._change(day, DayEnded(at=now))
        return await self._send(choir, day, outlet)

    async def _card(self, choir: Choir, day: ReadingDay) -> Card:
        assert day.reading_id is not None
        card = card_of(await self._composing.find(day.reading_id), choir, self._say)
        maker = self._makers.get(day.slot.partition("-")[0])
        return card if maker is None else await maker(choir, card, day)


def _planned(choir: Choir, plan: PlannedDay, outlet: Outlet) -> ReadingDay:
    return ReadingDay(choir_id=choir.id, on=plan.on, slot=plan.slot, surface=outlet.name)


def _tell(before: ReadingDay, after: ReadingDay) -> None:
    """Note in the log what the director has to know; the status page shows it from the row."""
    if Effect.TELL_DIRECTOR in announce(before, after):
        _log.warning("a line for %s is %s", after.surface, after.phase)
