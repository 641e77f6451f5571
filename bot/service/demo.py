"""The demonstration: invented choirs with three weeks of readings behind them.

The choirs and the last reading of each come first, so that the room can open; the rest of their
past is filled in from the newest day backwards while it is open already.
"""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from pathlib import Path

import msgspec

from bot.activities.calendar import local_day
from bot.activities.choir import Choir, Steps
from bot.activities.plan import PlannedDay, days_from
from bot.activities.reading_day import Arrived, Claimed, Composed, Phase, ReadingDay, apply
from bot.errors import Fault, InputProblems, RiserbellError, SettingsProblem
from bot.service.choir_form import parse_choir_form
from bot.service.clock import Clock
from bot.service.composed import compose_reading
from bot.service.content import Content
from bot.service.demo_seats import plant_seats
from bot.service.readings import ROOM
from bot.store.choirs import add_choir, find_choir
from bot.store.database import Database
from bot.store.deliveries import begin_day, find_day, settle_day
from bot.store.readings import add_reading, current_reading, history, next_draw

SEATED = ("demo-trebles", "demo-low-voices")
_log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True, kw_only=True)
class DemoChoir:
    """A choir as it is now, and the steps at which it stood in each past week, oldest first."""

    choir: Choir
    weeks: tuple[Steps, ...]


class Demo:
    """Plants and fills a database that was born as a demonstration; on any other it refuses."""

    def __init__(
        self, database: Database, content: Content, clock: Clock, file: Path, zone: str
    ) -> None:
        if database.born == "real":
            raise SettingsProblem("a demonstration is never planted among a school's data")
        self._database = database
        self._content = content
        self._clock = clock
        self._file = file
        self._zone = zone

    async def plant(self) -> tuple[DemoChoir, ...]:
        """Add the choirs that are not there yet, and the last reading of each.

        Returns all of them as they stand now, with their past steps, for `fill`.
        """
        today = local_day(self._clock.now(), self._zone)
        text = self._file.read_text(encoding="utf-8")
        demo_choirs = read_demo(text, self._content, today=today, zone=self._zone)
        async with self._database.transaction() as change:
            for demo in demo_choirs:
                await add_choir(change, demo.choir, today)
            there = [await find_choir(change, demo.choir.id) for demo in demo_choirs]
        planted = tuple(
            replace(demo, choir=choir or demo.choir)
            for demo, choir in zip(demo_choirs, there, strict=True)
        )
        await self.fill(planted, days=1)
        return planted

    async def seat(self, demo_choirs: Sequence[DemoChoir], folder: Path) -> None:
        """Give the first two choirs an approval and seats with a past; the others show none."""
        seated = [demo for demo in demo_choirs if demo.choir.id in SEATED]
        pasts = {demo.choir.id: [plan.on for plan in self._past(demo)] for demo in seated}
        today = local_day(self._clock.now(), self._zone)
        if seated:
            choirs = [demo.choir for demo in seated]
            await plant_seats(self._database, folder, choirs, pasts, today)

    async def fill(self, demo_choirs: Sequence[DemoChoir], days: int | None = None) -> None:
        """Give past meeting days their readings, the newest first, the choirs in turn.

        `days` is how many for each choir, None for all.
        """
        pasts = [self._past(demo)[:days] for demo in demo_choirs]
        for turn in range(max((len(past) for past in pasts), default=0)):
            for demo, past in zip(demo_choirs, pasts, strict=True):
                if turn < len(past):
                    await self._fill_day(demo, past[turn])

    def _past(self, demo: DemoChoir) -> list[PlannedDay]:
        now = self._clock.now()
        days = days_from(demo.choir, local_day(now, self._zone) - _span(demo))
        past: list[PlannedDay] = []
        for day in days:
            if day.ends > now:
                break
            past.append(day)
        return past[::-1]

    async def _fill_day(self, demo: DemoChoir, plan: PlannedDay) -> None:
        choir = demo.choir
        async with self._database.snapshot() as read:
            kept = await find_day(read, choir.id, plan.on, ROOM)
            there = await find_choir(read, choir.id) is not None
            draw = await next_draw(read, choir.id, plan.on)
            seen = await history(read, choir.id)
        if not there or (kept is not None and kept.phase is not Phase.MISSED):
            return
        then = replace(
            choir, steps=_steps_on(demo, plan.on, local_day(self._clock.now(), choir.zone))
        )
        try:
            reading = await asyncio.to_thread(
                compose_reading, then, self._content, plan.on, draw, tuple(seen.values())
            )
        except RiserbellError as error:
            _log.warning("a day of the demonstration stays empty: %s", type(error).__name__)
            return
        day = ReadingDay(choir_id=choir.id, on=plan.on, slot=plan.slot, surface=ROOM)
        day = apply(apply(day, Composed(reading_id=reading.id)), Claimed(at=plan.due))
        day = apply(day, Arrived(message_id=reading.id, at=plan.due))
        async with self._database.transaction() as change:
            if await current_reading(change, choir.id, plan.on) is None:
                await add_reading(change, reading)
                if not await begin_day(change, day):
                    await settle_day(change, day)


class _Week(msgspec.Struct, forbid_unknown_fields=True):
    """Steps of one past week."""

    pitch: str
    rhythm: str


class _Entry(msgspec.Struct, forbid_unknown_fields=True):
    """One choir of the file: fields of the set-up form, and its past."""

    id: str
    weeks: list[_Week]
    form: dict[str, str | list[str]]


class _File(msgspec.Struct, forbid_unknown_fields=True):
    choir: list[_Entry]


def read_demo(text: str, content: Content, *, today: date, zone: str) -> tuple[DemoChoir, ...]:
    """The choirs of a demonstration file; InputProblems where it is faulty."""
    try:
        file = msgspec.toml.decode(text, type=_File)
    except msgspec.MsgspecError as error:
        raise InputProblems([Fault(place="demo", problem=str(error))]) from error
    return tuple(_demo_choir(entry, content, today, zone) for entry in file.choir)


def _demo_choir(entry: _Entry, content: Content, today: date, zone: str) -> DemoChoir:
    start = _monday(today) - timedelta(weeks=len(entry.weeks))
    form: dict[str, list[str]] = {
        "zone": [zone],
        "starts_on": [start.isoformat()],
        "rotation_anchor": [start.isoformat()],
    }
    for name, value in entry.form.items():
        form[name] = [value] if isinstance(value, str) else value
    choir = parse_choir_form(form, content, choir_id=entry.id, today=today)
    past = tuple(replace(choir.steps, pitch=week.pitch, rhythm=week.rhythm) for week in entry.weeks)
    return DemoChoir(choir=choir, weeks=past)


def _span(demo: DemoChoir) -> timedelta:
    return timedelta(weeks=len(demo.weeks) + 1)


def _steps_on(demo: DemoChoir, on: date, today: date) -> Steps:
    """Where the choir stood on a past day; this week it stands where it stands now."""
    ago = (_monday(today) - _monday(on)).days // 7
    if ago == 0 or ago > len(demo.weeks):
        return demo.choir.steps
    return demo.weeks[-ago]


def _monday(day: date) -> date:
    return day - timedelta(days=day.weekday())
