"""Seats: slips with codes, one device at each seat, and nothing about who sits there."""

from __future__ import annotations

import asyncio
import hashlib
import secrets
from collections import Counter
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path

from bot.activities.calendar import local_day
from bot.activities.choir import Choir
from bot.errors import Refused
from bot.privacy.approval import Sheet
from bot.privacy.tags import TagKeys, code_tag, new_code, parse_code, shown
from bot.service.approvals import Action, Approvals
from bot.service.clock import Clock
from bot.service.seat_safe import SeatSafe
from bot.store import seats as rows
from bot.store.choirs import find_choir, zone_of
from bot.store.database import Database, Snapshot, Transaction
from bot.store.keys import tag_keys
from bot.store.remembered import Remembered
from bot.store.seats import Seat, Visit

IDLE = timedelta(minutes=20)
LONGEST = timedelta(minutes=90)
_TOKEN_BYTES = 16
_AT_A_TIME = 2  # codes worked out at once; each takes 16 MiB


@dataclass(frozen=True, slots=True, kw_only=True)
class Slip:
    """What is printed for one seat, once. `code` has its hyphen."""

    number: int
    code: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Seated:
    """A device that sat down. `until` is the term's end on a device that is remembered."""

    seat: Seat
    token: str
    until: date | None


@dataclass(slots=True)
class _Awake:
    opened: datetime
    used: datetime


class Seats:
    """Who may sit where. Times of visits live in memory only and die with the process.

    After a restart the devices of the day go on with a fresh span of time.
    """

    def __init__(
        self, database: Database, clock: Clock, approvals: Approvals, safe: SeatSafe, folder: Path
    ) -> None:
        self._database = database
        self._clock = clock
        self._approvals = approvals
        self._safe = safe
        self._folder = folder
        self._awake: dict[bytes, _Awake] = {}  # those that were opened first stand first
        self._zones: Remembered[str, str | None] = Remembered(database)
        self._taken_over: Counter[tuple[str, date]] = Counter()
        self._working = asyncio.Semaphore(_AT_A_TIME)

    async def of_choir(self, choir_id: str) -> tuple[Seat, ...]:
        """A choir's seats by number."""
        async with self._database.snapshot() as read:
            return await rows.seats_of(read, choir_id)

    async def seat(self, seat_id: str) -> Seat | None:
        """One seat by its id, None where it was forgotten."""
        async with self._database.snapshot() as read:
            return await rows.find_seat(read, seat_id)

    async def keys(self) -> TagKeys:
        """The keys of tags, for whoever turns an account elsewhere into one."""
        return await asyncio.to_thread(tag_keys, self._folder)

    async def make(self, choir_id: str, count: int) -> tuple[Slip, ...]:
        """Seats up to `count` in all; the slips of those that are new.

        Refused("seat.closed") without an approval, Refused("seat.too_many").
        """
        sheet, today = await self._sheet(choir_id)
        if not 0 < count <= sheet.most_seats:
            raise Refused("seat.too_many", most=sheet.most_seats)
        taken = {seat.number for seat in await self.of_choir(choir_id)}
        numbers = [number for number in range(1, count + 1) if number not in taken]
        codes = await self._codes(len(numbers))
        async with self._database.transaction(sheet.fields) as change:
            for number, (_, tag) in zip(numbers, codes, strict=True):
                seat = Seat(
                    id=secrets.token_hex(16), choir_id=choir_id, number=number, made_on=today
                )
                await rows.add_seat(change, seat)
                await rows.keep_code(change, seat.id, tag)
            if numbers:
                await self._approvals.note(change, Action.SEATS_MADE, amount=len(numbers))
        return _slips(numbers, codes)

    async def new_slip(self, choir_id: str, number: int) -> Slip:
        """A slip in place of a lost one: the old code and its device are out at once.

        Refused("seat.closed"), Refused("seat.unknown").
        """
        (slip,) = await self._replace(choir_id, [number])
        return slip

    async def new_slips(self, choir_id: str) -> tuple[Slip, ...]:
        """Every slip of a choir anew."""
        return await self._replace(choir_id, [s.number for s in await self.of_choir(choir_id)])

    async def sit(self, text: str, *, remember: bool = False) -> Seated:
        """Seat a device by the code that was typed; another one at that seat has to leave.

        Refused("seat.code_wrong"), Refused("seat.closed") where no approval holds.
        """
        code = parse_code(text)
        if code is None:
            raise Refused("seat.code_wrong")
        tag = await self._tag(code)
        async with self._database.snapshot() as read:
            seat = await rows.seat_behind(read, tag)
        if seat is None:
            raise Refused("seat.code_wrong")
        sheet, today = await self._sheet(seat.choir_id)
        if not sheet.room or today > sheet.term_ends_on:
            raise Refused("seat.closed")
        token = secrets.token_urlsafe(_TOKEN_BYTES)
        visit = Visit(
            seat=seat,
            token_hash=_hash(token),
            opened_on=today,
            remembered=remember and sheet.remembered_devices,
        )
        async with self._database.transaction(sheet.fields) as change:
            # The slip may have been replaced while its code was worked out.
            if await rows.seat_behind(change, tag) != seat:
                raise Refused("seat.code_wrong")
            if await rows.begin_visit(change, visit):
                self._taken_over[seat.choir_id, today] += 1
                await self._approvals.note(change, Action.SEAT_TAKEN_OVER, by_director=False)
        now = self._clock.now()
        self._awake[visit.token_hash] = _Awake(opened=now, used=now)
        return Seated(
            seat=seat, token=token, until=sheet.term_ends_on if visit.remembered else None
        )

    async def at(self, token: str) -> Seat | None:
        """The seat of the device with this token; its visit stays awake. None in any doubt."""
        token_hash = _hash(token)
        async with self._database.snapshot() as read:
            visit = await rows.find_visit(read, token_hash)
            if visit is None:
                return None
            choir_id = visit.seat.choir_id
            zone = await self._zones.get(choir_id, lambda: zone_of(read, choir_id))
            assert zone is not None, "seats go with their choir"
            today = local_day(self._clock.now(), zone)
            sheet = await self._approvals.current_in(read, choir_id, today)
        if sheet is None or not sheet.room or today > sheet.term_ends_on:
            return None
        if visit.remembered and sheet.remembered_devices:
            return visit.seat
        if visit.opened_on == today and self._stays_awake(token_hash):
            return visit.seat
        await self._end(visit.seat.id)
        return None

    async def leave(self, token: str) -> None:
        """End the visit of one device."""
        async with self._database.snapshot() as read:
            visit = await rows.find_visit(read, _hash(token))
        if visit is not None:
            await self._end(visit.seat.id)

    async def end_old_visits(self, choir: Choir) -> None:
        """Send home the devices of earlier days that are not remembered."""
        today = local_day(self._clock.now(), choir.zone)
        async with self._database.transaction() as change:
            for visit in await rows.visits_of(change, choir.id):
                if visit.opened_on < today and not visit.remembered:
                    await rows.end_visit(change, visit.seat.id)

    def taken_over(self, choir_id: str, today: date) -> int:
        """How often a second device took a seat of the choir today."""
        return self._taken_over[choir_id, today]

    async def _replace(self, choir_id: str, numbers: list[int]) -> tuple[Slip, ...]:
        sheet, _ = await self._sheet(choir_id)
        codes = await self._codes(len(numbers))
        async with (
            self._safe.erasing(),
            self._database.transaction(sheet.fields) as change,
        ):
            for number, (_, tag) in zip(numbers, codes, strict=True):
                seat = await _numbered(change, choir_id, number)
                await rows.keep_code(change, seat.id, tag)
            await self._approvals.note(change, Action.SLIP_REPLACED, amount=len(numbers))
        return _slips(numbers, codes)

    async def _sheet(self, choir_id: str) -> tuple[Sheet, date]:
        """The sheet that lets a choir have seats today, and today."""
        async with self._database.snapshot() as read:
            choir = await find_choir(read, choir_id)
            if choir is None:
                raise Refused("choir.unknown")
            today = local_day(self._clock.now(), choir.zone)
            sheet = await self._approvals.current_in(read, choir_id, today)
        if sheet is None or not sheet.meets:
            raise Refused("seat.closed")
        return sheet, today

    async def _codes(self, count: int) -> list[tuple[str, bytes]]:
        codes = [new_code() for _ in range(count)]
        return [(code, await self._tag(code)) for code in codes]

    async def _tag(self, code: str) -> bytes:
        keys = await self.keys()
        async with self._working:
            return await asyncio.to_thread(code_tag, keys, code)

    def _stays_awake(self, token_hash: bytes) -> bool:
        """Whether a visit of today goes on; one of before a restart begins its span anew."""
        now = self._clock.now()
        # Older ones are of another day, which has ended them. Sooner they must not be forgotten,
        # or a visit that is over would look like one of before a restart.
        while self._awake:
            first = next(iter(self._awake))
            if now - self._awake[first].opened < timedelta(days=2):
                break
            del self._awake[first]
        awake = self._awake.setdefault(token_hash, _Awake(opened=now, used=now))
        if now - awake.opened >= LONGEST or now - awake.used >= IDLE:
            return False
        awake.used = max(now, awake.used)
        return True

    async def _end(self, seat_id: str) -> None:
        async with self._database.transaction() as change:
            await rows.end_visit(change, seat_id)


async def _numbered(change: Transaction | Snapshot, choir_id: str, number: int) -> Seat:
    seat = await rows.seat_numbered(change, choir_id, number)
    if seat is None:
        raise Refused("seat.unknown")
    return seat


def _slips(numbers: list[int], codes: list[tuple[str, bytes]]) -> tuple[Slip, ...]:
    return tuple(
        Slip(number=number, code=shown(code))
        for number, (code, _) in zip(numbers, codes, strict=True)
    )


def _hash(token: str) -> bytes:
    return hashlib.sha256(token.encode()).digest()
