"""The sealed copy of seats: renewed every night, made unreadable by every erasure, put back once.

A broken database is restored from the portable backup, in which there are no seats; the copy in the
safe brings back those of at most a week ago. It holds seats of choirs whose sheet allows a copy.
"""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from datetime import date, timedelta
from pathlib import Path

from bot.activities.calendar import local_day
from bot.errors import Refused
from bot.privacy.approval import Sheet
from bot.service.approvals import Action, Approvals
from bot.service.clock import Clock
from bot.store import seats as seat_rows
from bot.store.choirs import all_choirs, find_choir
from bot.store.database import Database, Snapshot
from bot.store.seat_safe import SafeCopy, copy_seats, put_back, seal, shred, unseal


class SeatSafe:
    """Whoever erases something about a seat does it inside `erasing`."""

    def __init__(
        self, database: Database, clock: Clock, approvals: Approvals, folder: Path
    ) -> None:
        self._database = database
        self._clock = clock
        self._approvals = approvals
        self._folder = folder
        self._alone = asyncio.Lock()

    @asynccontextmanager
    async def erasing(self) -> AsyncIterator[None]:
        """First every copy becomes unreadable, then the block erases, then a fresh one is taken.

        In this order nothing that was erased is ever in a copy that opens, whenever the program
        dies.
        """
        async with self._alone:
            await asyncio.to_thread(shred, self._folder)
            try:
                yield
            finally:
                await self._renew()

    async def renew(self) -> None:
        """Take a copy in place of the last one; none where nothing may be copied."""
        async with self._alone:
            await self._renew()

    async def kept_on(self, choir_id: str) -> date | None:
        """The date whose seats could be brought back; None where there are none, or no need."""
        copy = await self._opened()
        async with self._database.snapshot() as read:
            found = await self._found(read, choir_id, copy)
        return None if found is None else found[0].taken_on[choir_id]

    async def bring_back(self, choir_id: str) -> int:
        """Put a choir's seats back; how many. Refused("seats.none_kept")."""
        async with self._alone:
            copy = await self._opened()
            async with self._database.snapshot() as read:
                found = await self._found(read, choir_id, copy)
            if found is None:
                raise Refused("seats.none_kept")
            copy, sheet = found
            async with self._database.transaction(sheet.fields) as change:
                if await self._found(change, choir_id, copy) != found:
                    raise Refused("seats.none_kept")
                count = await put_back(change, copy, choir_id, sheet.fields)
                await self._approvals.note(change, Action.SEATS_BROUGHT_BACK, amount=count)
            return count

    async def _opened(self) -> SafeCopy | None:
        return await asyncio.to_thread(unseal, self._folder)

    async def _found(
        self, read: Snapshot, choir_id: str, copy: SafeCopy | None
    ) -> tuple[SafeCopy, Sheet] | None:
        """The copy and the sheet that lets it be used for a choir that has no seat now."""
        choir = await find_choir(read, choir_id)
        if choir is None or copy is None or await seat_rows.seats_of(read, choir_id):
            return None
        today, kept = local_day(self._clock.now(), choir.zone), copy.seats_of(choir_id)
        sheet = await self._approvals.current_in(read, choir_id, today)
        if sheet is None or not 0 < len(kept) <= sheet.most_seats:
            return None
        age = today - copy.taken_on[choir_id]
        fresh = timedelta(0) <= age <= timedelta(days=sheet.kept_days["backup"])
        return (copy, sheet) if fresh and today <= sheet.term_ends_on else None

    async def _renew(self) -> None:
        """Seats of a choir that lost them are kept in the safe until they are too old for it."""
        before = await self._opened()
        async with self._database.snapshot() as read:
            copy = await copy_seats(read, await self._copied_on(read))
            waiting = [
                choir.id
                for choir in await all_choirs(read)
                if await self._found(read, choir.id, before) is not None
            ]
        if waiting:
            return
        if copy.tables["seats"]:
            await asyncio.to_thread(seal, self._folder, copy)
        else:
            await asyncio.to_thread(shred, self._folder)

    async def _copied_on(self, read: Snapshot) -> dict[str, date]:
        """The choirs whose sheet allows a copy, each with its date."""
        copied = {}
        for choir in await all_choirs(read):
            today = local_day(self._clock.now(), choir.zone)
            sheet = await self._approvals.current_in(read, choir.id, today)
            if sheet is not None and sheet.kept_days["backup"] > 0:
                copied[choir.id] = today
        return copied
