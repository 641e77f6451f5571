"""The substitute's folder: five sheets without a date, one step below the choir's own."""

from __future__ import annotations

import asyncio
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date

from bot.activities.calendar import local_day
from bot.activities.choir import Choir, Hearing, Steps
from bot.activities.reading import Reading
from bot.activities.reading_day import Arrived, Claimed, Composed, ReadingDay, apply
from bot.errors import InputProblems, NoExercise, Refused
from bot.music.exercise import Exercise
from bot.music.step import Sequence
from bot.service.choirs import Choirs
from bot.service.clock import Clock
from bot.service.composed import compose_reading
from bot.service.content import Content
from bot.service.media_requests import MediaSource
from bot.service.part_tables import PartTables
from bot.service.takehome import HomeSheet, home_sheet
from bot.store.choirs import find_choir
from bot.store.database import Database
from bot.store.readings import history, next_draw
from bot.store.sub_folders import PAPER, SLOTS, find_folder, keep_folder, mark_read, mark_unread

_TRIES = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class SubSheet:
    """A sheet as the desk lists it; `read_on` is None until the director says it was read."""

    number: int
    reading: Reading
    read_on: date | None


@dataclass(frozen=True, slots=True, kw_only=True)
class SubFolder:
    """The unread sheets with pictures and sounds."""

    choir: Choir
    sheets: tuple[HomeSheet, ...]


class Subs:
    """Draws, shows and keeps the folder of each choir."""

    def __init__(
        self,
        database: Database,
        choirs: Choirs,
        content: Content,
        media: MediaSource,
        clock: Clock,
        tables: PartTables,
    ) -> None:
        self._database = database
        self._choirs = choirs
        self._content = content
        self._media = media
        self._clock = clock
        self._tables = tables

    async def sheets(self, choir_id: str) -> tuple[SubSheet, ...]:
        """What lies in the folder; nothing where none was drawn yet."""
        async with self._database.snapshot() as read:
            found = await find_folder(read, choir_id)
        return tuple(
            SubSheet(number=SLOTS.index(reading.slot) + 1, reading=reading, read_on=on)
            for reading, on in found
        )

    async def draw(self, choir_id: str) -> None:
        """Draw five new sheets in place of those that are there.

        NoExercise where the steps have no five lines left that the choir never had.
        """
        for _ in range(_TRIES):
            choir = await self._choirs.get(choir_id)
            on = local_day(self._clock.now(), choir.zone)
            async with self._database.snapshot() as read:
                seen = await history(read, choir_id)
                draws = [await next_draw(read, choir_id, on, slot) for slot in SLOTS]
            sheets = await asyncio.to_thread(
                _compose, choir, self._content, on, draws, tuple(seen.values()), self._tables
            )
            if await self._keep(choir, sheets, set(seen)):
                return
        raise Refused("reading.changing")

    async def folder(self, choir_id: str) -> SubFolder:
        """The unread sheets, drawn first where there are none.

        The line comes along unless it is never to be heard: a substitute cannot sing it.
        """
        choir = await self._choirs.get(choir_id)
        unread = [sheet for sheet in await self.sheets(choir_id) if sheet.read_on is None]
        if not unread:
            await self.draw(choir_id)
            unread = list(await self.sheets(choir_id))
        hear, say = choir.hearing is not Hearing.NEVER, self._content.wording
        return SubFolder(
            choir=choir,
            sheets=tuple(
                [
                    await home_sheet(sheet.reading, choir, self._media, say, hear=hear, alone=False)
                    for sheet in unread
                ]
            ),
        )

    async def read(self, choir_id: str, number: int, *, was_read: bool) -> None:
        """Keep that the class read a sheet, or take it back. Refused("sub.unknown")."""
        choir = await self._choirs.get(choir_id)
        sheet = next((each for each in await self.sheets(choir_id) if each.number == number), None)
        if sheet is None:
            raise Refused("sub.unknown")
        async with self._database.transaction() as change:
            if not was_read:
                await mark_unread(change, sheet.reading.id)
            elif sheet.read_on is None and not await mark_read(change, self._day(choir, sheet)):
                raise Refused("sub.twice")

    def _day(self, choir: Choir, sheet: SubSheet) -> ReadingDay:
        now = self._clock.now()
        day = ReadingDay(
            choir_id=choir.id,
            on=local_day(now, choir.zone),
            slot=sheet.reading.slot,
            surface=PAPER,
        )
        for event in (
            Composed(reading_id=sheet.reading.id),
            Claimed(at=now),
            Arrived(message_id=PAPER, at=now),
        ):
            day = apply(day, event)
        return day

    async def _keep(self, choir: Choir, sheets: tuple[Reading, ...], seen: set[str]) -> bool:
        """False where choir or history changed meanwhile, so that a sheet may be stale."""
        async with self._database.transaction() as change:
            if await find_choir(change, choir.id) != choir:
                return False
            now_seen = set(await history(change, choir.id))
            if now_seen != seen and not now_seen.isdisjoint(
                sheet.exercise.fingerprint() for sheet in sheets
            ):
                return False
            await keep_folder(change, choir.id, sheets)
            return True


def lower_steps(steps: Steps, sequence: Sequence) -> tuple[str, str]:
    """The steps before these in pitch and rhythm; the first step stays where it is."""

    def before(step_id: str) -> str:
        reached = sequence.up_to(sequence.step(step_id))
        return reached[-2].id if len(reached) > 1 else step_id

    return before(steps.pitch), before(steps.rhythm)


def _compose(
    choir: Choir,
    content: Content,
    on: date,
    draws: list[int],
    seen: tuple[Exercise, ...],
    tables: PartTables,
) -> tuple[Reading, ...]:
    """Five lines, all at the same steps: the first choice at which all of them are to be had."""
    if choir.steps.sequence not in content.sequences:
        raise Refused("reading.no_sequence", sequence=choir.steps.sequence)
    refusal: NoExercise | InputProblems | None = None
    for easier in _easier(choir, content.sequences[choir.steps.sequence]):
        made: list[Reading] = []
        try:
            for slot, draw in zip(SLOTS, draws, strict=True):
                before = (*seen, *(reading.exercise for reading in made))
                made.append(compose_reading(easier, content, on, draw, before, slot, tables=tables))
        except (NoExercise, InputProblems) as error:
            refusal = refusal or error
            continue
        return tuple(made)
    assert refusal is not None
    raise refusal


def _easier(choir: Choir, sequence: Sequence) -> Iterator[Choir]:
    """The choir one step down in both tracks; then, where that makes no music, in one of them."""
    steps, (pitch, rhythm) = choir.steps, lower_steps(choir.steps, sequence)
    for lower in (
        replace(steps, pitch=pitch, rhythm=rhythm),
        replace(steps, rhythm=rhythm),
        replace(steps, pitch=pitch),
        steps,
    ):
        yield replace(choir, steps=lower)
        if choir.measures is not None:
            yield replace(choir, steps=lower, measures=None)
