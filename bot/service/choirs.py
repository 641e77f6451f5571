"""Choirs as the desk keeps them: list, add, change, remove."""

from __future__ import annotations

from dataclasses import replace

from bot.activities.calendar import local_day
from bot.activities.choir import Choir
from bot.activities.reading import Origin, Reading
from bot.errors import InputProblems, Refused
from bot.service.changes import Changes
from bot.service.clock import Clock
from bot.service.placing import place_own, relabelled
from bot.service.troubles import Troubles
from bot.store.choirs import add_choir, all_choirs, change_choir, find_choir, remove_choir
from bot.store.database import Database, Transaction
from bot.store.readings import replace_parts, retire_reading, unposted_readings
from bot.wording import Wording


class Choirs:
    """Every change rings the bell, so that the scheduler follows it at once.

    What was refused to a choir before it changed is no longer told.
    """

    def __init__(
        self, database: Database, clock: Clock, changes: Changes, say: Wording, troubles: Troubles
    ) -> None:
        self._troubles = troubles
        self._database = database
        self._clock = clock
        self._changes = changes
        self._say = say

    async def all(self) -> tuple[Choir, ...]:
        """Every choir, in the order in which they were added."""
        async with self._database.snapshot() as read:
            return await all_choirs(read)

    async def get(self, choir_id: str) -> Choir:
        """One choir; Refused("choir.unknown") where there is none of that id."""
        async with self._database.snapshot() as read:
            choir = await find_choir(read, choir_id)
        if choir is None:
            raise Refused("choir.unknown")
        return choir

    async def add(self, choir: Choir) -> None:
        """Keep a new choir; Refused("choir.exists") where the id is taken."""
        async with self._database.transaction() as change:
            added_on = local_day(self._clock.now(), choir.zone)
            if not await add_choir(change, choir, added_on):
                raise Refused("choir.exists")
        self._changes.ring()

    async def change(self, choir: Choir) -> None:
        """Replace a choir; lines that are ready but not yet posted are made anew if need be.

        Refused("choir.unknown"); Refused("choir.own_music") where music that the director put on a
        coming date does not fit the new voices.
        """
        async with self._database.transaction() as change:
            before = await find_choir(change, choir.id)
            if before is None:
                raise Refused("choir.unknown")
            await change_choir(change, choir)
            today = local_day(self._clock.now(), choir.zone)
            for reading in await unposted_readings(change, choir.id):
                if reading.on >= today:
                    await self._follow(change, reading, before, choir)
        self._troubles.forget_refusals(choir.id)
        self._changes.ring()

    async def remove(self, choir_id: str) -> None:
        """Delete a choir with its readings and everything that was kept about it."""
        async with self._database.transaction() as change:
            if not await remove_choir(change, choir_id):
                raise Refused("choir.unknown")
        self._changes.ring()

    async def _follow(
        self, change: Transaction, reading: Reading, before: Choir, choir: Choir
    ) -> None:
        """Let a coming reading follow the change of its choir."""
        if _music_of(before) == _music_of(choir):
            await replace_parts(change, replace(reading, parts=relabelled(reading, choir)))
        elif reading.origin is Origin.COMPOSED:
            if _stays(reading, before, choir):
                await replace_parts(change, replace(reading, parts=relabelled(reading, choir)))
            else:
                await retire_reading(change, reading.id)
        elif _voices_of(before) != _voices_of(choir):
            title = reading.title or ""
            try:
                parts = place_own(reading.exercise, choir, title, self._say)
            except InputProblems as problems:
                day = self._say.date(reading.on)
                raise Refused("choir.own_music", title=title, date=day) from problems
            await replace_parts(change, replace(reading, parts=parts))


def _stays(reading: Reading, before: Choir, choir: Choir) -> bool:
    """Whether a line that was composed before a change is still what the director wants.

    A pinned one is, and so is one at steps of its own, as long as the same voices sing it.
    """
    if _voices_of(before) != _voices_of(choir):
        return False
    at_own_steps = reading.steps not in (before.steps, choir.steps)
    only_steps = replace(before, steps=choir.steps)
    return reading.pinned or (at_own_steps and _music_of(only_steps) == _music_of(choir))


def _voices_of(choir: Choir) -> object:
    return tuple((voice.voice, voice.range) for voice in choir.voices)


def _music_of(choir: Choir) -> object:
    """All that a composed line depends on."""
    return choir.steps, _voices_of(choir), choir.measures, choir.key
