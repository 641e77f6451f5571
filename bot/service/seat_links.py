"""Linking a seat with an account on Discord: a code for a day, a keyed tag, gone when one says so.

The code is made where the seat is (its page in the room, or its slip) and typed once on Discord;
the slip's own code never goes there. What is kept of the account is a tag, and of the code too.
"""

from __future__ import annotations

import asyncio
from collections import defaultdict, deque
from collections.abc import Sequence
from datetime import date, datetime, timedelta
from pathlib import Path

from bot.errors import Refused
from bot.privacy.tags import TagKeys, link_code_tags, link_tag, new_code, parse_code, shown
from bot.service.clock import Clock
from bot.service.discord_gate import DiscordGate, Opening
from bot.store import seat_links as rows
from bot.store.choirs import find_choir
from bot.store.database import Database, Snapshot
from bot.store.keys import keys_written, tag_keys
from bot.store.seats import Seat, find_seat, seat_numbered

HOURS = 24  # that a code lives, the hour in which it was made counted in
_WRONG_TRIES, _TRIES_SPAN = 5, timedelta(hours=1)
_AT_A_TIME = 2  # codes worked out at once; each takes 16 MiB


class SeatLinks:
    """One account a seat, one seat an account in a choir. Wrong tries are counted in memory."""

    def __init__(self, database: Database, clock: Clock, gate: DiscordGate, folder: Path) -> None:
        self._database = database
        self._clock = clock
        self._gate = gate
        self._folder = folder
        self._wrong: defaultdict[bytes, deque[datetime]] = defaultdict(deque)
        self._working = asyncio.Semaphore(_AT_A_TIME)
        self._read: tuple[tuple[int, int] | None, TagKeys] | None = None

    async def tag(self, guild_id: str, user_id: int) -> bytes:
        """What stands for somebody in a server; the id is dropped here."""
        keys = await self._keys()
        return link_tag(keys, f"v1/discord/{guild_id}/{user_id}")

    async def offered_to(self, seat: Seat) -> bool:
        """Whether this seat can be linked today."""
        opening = await self._gate.open_for(seat.choir_id)
        return opening is not None and _in_term(opening)

    async def linked(self, seat_id: str) -> bool:
        """Whether an account is linked with a seat."""
        async with self._database.snapshot() as read:
            return await rows.has_account(read, seat_id)

    async def new_code(self, seat: Seat) -> str:
        """A code in place of the seat's earlier one, with its hyphen; Refused("seat.closed")."""
        (code,) = await self._new_codes(seat.choir_id, [seat.id])
        return code

    async def codes_of(self, choir_id: str, numbers: Sequence[int]) -> dict[int, str]:
        """Codes for slips, by seat number; none where the choir is not met on Discord."""
        async with self._database.snapshot() as read:
            found = [await seat_numbered(read, choir_id, number) for number in numbers]
        seats = [seat for seat in found if seat is not None]
        if not seats or not await self.offered_to(seats[0]):
            return {}
        codes = await self._new_codes(choir_id, [seat.id for seat in seats])
        return {seat.number: code for seat, code in zip(seats, codes, strict=True)}

    async def seat_of(self, choir_id: str, tag: bytes) -> Seat | None:
        """The seat of an account, None where it has none or the choir is not met there today."""
        async with self._database.snapshot() as read:
            return await self.seat_in(read, choir_id, tag)

    async def seat_in(self, read: Snapshot, choir_id: str, tag: bytes) -> Seat | None:
        """The same, inside a snapshot or transaction."""
        if await self._gate.open_in(read, choir_id) is None:
            return None
        return await rows.seat_of_account(read, choir_id, tag)

    async def take(self, choir_id: str, tag: bytes, typed: str) -> Seat:
        """Link an account by the code that was typed; another account at that seat has to leave.

        Refused("seat.closed"), Refused("link.wrong"), Refused("link.wait") after five wrong ones
        within an hour.
        """
        self._check_tries(tag)
        code = parse_code(typed)
        tags = () if code is None else await self._code_tags(code)
        async with self._database.snapshot() as read:
            opening = await self._opening(read, choir_id)
            seat = await rows.seat_behind_link(read, choir_id, tags)
        if seat is None:
            self._wrong[tag].append(self._clock.now())
            raise Refused("link.wrong")
        async with self._database.transaction(opening.sheet.fields) as change:
            if await self._gate.open_in(change, choir_id) != opening:
                raise Refused("seat.closed")
            if await rows.seat_behind_link(change, choir_id, tags) != seat:
                raise Refused("link.wrong")
            await rows.drop_link_code(change, seat.id)
            await rows.keep_account(change, seat, tag)
        self._wrong.pop(tag, None)
        return seat

    async def leave(self, choir_id: str, tag: bytes) -> bool:
        """Drop the tag of an account at once, approval or not; False where it had no seat."""
        async with self._database.transaction() as change:
            seat = await rows.seat_of_account(change, choir_id, tag)
            return seat is not None and await rows.drop_account(change, seat.id)

    async def drop_account_of(self, seat_id: str) -> bool:
        """The same from the seat's own page."""
        async with self._database.transaction() as change:
            return await rows.drop_account(change, seat_id)

    async def close(self, choir_id: str, today: date) -> None:
        """What goes by itself: old codes; every account, once no signed term goes on there."""
        async with self._database.transaction() as change:
            if await self._gate.goes_on_in(change, choir_id):
                await rows.drop_old_link_codes(change, choir_id, today - timedelta(days=1))
            else:
                await rows.drop_choirs_accounts(change, choir_id)

    def forget_old_tries(self) -> None:
        """Forget whoever typed nothing wrong for an hour."""
        since = self._clock.now() - _TRIES_SPAN
        for tag in [tag for tag, wrong in self._wrong.items() if not wrong or wrong[-1] <= since]:
            del self._wrong[tag]

    async def _new_codes(self, choir_id: str, seat_ids: Sequence[str]) -> list[str]:
        """Codes that work from now on; a seat that was forgotten meanwhile gets none that does."""
        codes = [new_code() for _ in seat_ids]
        tags = [(await self._code_tags(code))[0] for code in codes]
        async with self._database.snapshot() as read:
            opening = await self._opening(read, choir_id)
        async with self._database.transaction(opening.sheet.fields) as change:
            if await self._gate.open_in(change, choir_id) != opening:
                raise Refused("seat.closed")
            for seat_id, tag in zip(seat_ids, tags, strict=True):
                if await find_seat(change, seat_id) is not None:
                    await rows.keep_link_code(change, seat_id, tag, opening.today)
        return [shown(code) for code in codes]

    async def _opening(self, read: Snapshot, choir_id: str) -> Opening:
        if await find_choir(read, choir_id) is None:
            raise Refused("choir.unknown", choir=choir_id)
        opening = await self._gate.open_in(read, choir_id)
        if opening is None or not _in_term(opening):
            raise Refused("seat.closed")
        return opening

    async def _code_tags(self, code: str) -> tuple[bytes, ...]:
        """The tags of a code for the hours of a day, this hour's first."""
        now = int(self._clock.now().timestamp()) // 3600
        keys, hours = await self._keys(), range(now, now - HOURS, -1)
        async with self._working:
            return await asyncio.to_thread(link_code_tags, keys, code, hours)

    async def _keys(self) -> TagKeys:
        """The keys, read anew where their file was written since."""
        written = keys_written(self._folder)
        if self._read is None or self._read[0] != written:
            keys = await asyncio.to_thread(tag_keys, self._folder)
            self._read = keys_written(self._folder), keys
        return self._read[1]

    def _check_tries(self, tag: bytes) -> None:
        wrong = self._wrong[tag]
        while wrong and wrong[0] <= self._clock.now() - _TRIES_SPAN:
            wrong.popleft()
        if len(wrong) >= _WRONG_TRIES:
            raise Refused("link.wait")


def _in_term(opening: Opening) -> bool:
    return opening.today <= opening.sheet.term_ends_on
