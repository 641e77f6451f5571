"""A singer's days: the tap, the practice row, and the counts that a class is shown."""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from bot.activities.calendar import local_day, meets
from bot.activities.choir import Choir
from bot.activities.practice import (
    BACK_FILL_DAYS,
    PracticeRow,
    WeekCount,
    may_mark,
    practice_row,
)
from bot.activities.taps import Went
from bot.errors import Refused
from bot.privacy.approval import Activity, Sheet
from bot.privacy.floors import Shown, shown_counts
from bot.service.approvals import Approvals
from bot.service.clock import Clock
from bot.store import practice as rows
from bot.store.choirs import find_choir, zone_of
from bot.store.database import Database, Snapshot, Transaction
from bot.store.remembered import Remembered
from bot.store.seats import Seat, find_seat, seats_of
from bot.store.together import Together

_WEEK = timedelta(weeks=1)
LOOKED_BACK = timedelta(days=28)  # how far back the desk shows counts of the class


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenDay:
    """A day that the seat may mark, or has marked. `went` is known until midnight only."""

    on: date
    read: bool
    went: Went | None


@dataclass(frozen=True, slots=True, kw_only=True)
class SeatDays:
    """What a seat's own page shows. `days` are the newest first; no row, no `row`."""

    choir: Choir
    today: date
    sheet: Sheet
    days: tuple[OpenDay, ...]
    row: PracticeRow | None

    @property
    def tried_today(self) -> bool:
        """Whether today's line was read, as the singer says."""
        return any(day.on == self.today and day.read for day in self.days)


class Practice:
    """Marks days, folds them, shows them. Everything is acknowledged after it is kept."""

    def __init__(self, database: Database, clock: Clock, approvals: Approvals) -> None:
        self._database = database
        self._clock = clock
        self._approvals = approvals
        self._together = Together(database)
        self._zones: Remembered[str, str | None] = Remembered(database)

    async def days(self, seat_id: str) -> SeatDays:
        """A seat's days as they stand; Refused("seat.closed") where no approval holds."""
        async with self._database.snapshot() as read:
            return await self._days(read, seat_id)

    async def tap(self, seat_id: str, on: date, went: Went) -> None:
        """Mark a day as read, at most three days back; again the same day changes how it went.

        Refused("seat.closed"), Refused("seat.no_taps"), Refused("seat.not_open").
        """
        if await self.tap_at(lambda change: find_seat(change, seat_id), on, went) is None:
            raise Refused("seat.closed")

    async def tap_at(
        self, find: Callable[[Transaction], Awaitable[Seat | None]], on: date, went: Went
    ) -> Seat | None:
        """The same for a seat that is still to be found; None where there is none."""

        async def tap(change: Transaction) -> Seat | None:
            seat = await find(change)
            if seat is not None:
                await self._tap(change, seat, on, went)
            return seat

        return await self._together.do(tap)

    async def _tap(self, change: Transaction, seat: Seat, on: date, went: Went) -> None:
        today, sheet = await self._open(change, seat.choir_id)
        if Activity.TAPS not in sheet.activities:
            raise Refused("seat.no_taps")
        offered = await rows.offered_days(change, seat.choir_id, max(on, seat.made_on), on)
        if not may_mark(offered, on, today):
            raise Refused("seat.not_open")
        change.allow(sheet.fields)
        if await rows.mark_read(change, seat.id, on):
            await rows.add_tap(change, seat.id, on, went, today)
        else:
            # A day whose taps are folded already is counted; it is not counted again.
            await rows.change_tap(change, seat.id, on, went)

    async def counts(self, choir_id: str) -> tuple[tuple[date, Shown], ...]:
        """How the days of the last weeks went for the class, the newest first, under the floor.

        Today is not among them: nobody watches a count grow by one. Empty without an approval.
        """
        async with self._database.snapshot() as read:
            _, today, sheet = await self._choir(read, choir_id)
            if sheet is None:
                return ()
            counts = await rows.class_counts(read, choir_id, today - LOOKED_BACK)
        return tuple(
            (
                on,
                shown_counts({each.value: day.get(each, 0) for each in Went}, sheet.least_in_class),
            )
            for on, day in sorted(counts.items(), reverse=True)
        )

    async def rests(self, choir_id: str) -> tuple[date, ...]:
        """Days of rest that the director gave, the newest first."""
        async with self._database.snapshot() as read:
            return tuple(sorted(await rows.rests_of(read, choir_id), reverse=True))

    async def give_rest(self, choir_id: str, on: date) -> None:
        """Give the class a day of rest."""
        async with self._database.transaction() as change:
            if await find_choir(change, choir_id) is None:
                raise Refused("choir.unknown")
            await rows.give_rest(change, choir_id, on)

    async def take_rest(self, choir_id: str, on: date) -> None:
        """Take a day of rest back."""
        async with self._database.transaction() as change:
            await rows.take_rest(change, choir_id, on)

    async def fold(self, choir_id: str) -> None:
        """What midnight does: taps become counts of the class, old weeks three figures a seat."""
        async with self._database.snapshot() as read:
            _, _, sheet = await self._choir(read, choir_id)
        keeps_row = sheet is not None and Activity.PRACTICE_ROW in sheet.activities
        async with self._database.transaction(sheet.fields if sheet else frozenset()) as change:
            _, today, now_holds = await self._choir(change, choir_id)
            await rows.fold_taps(change, choir_id, today)
            rests = await rows.rests_of(change, choir_id)
            for seat in await seats_of(change, choir_id):
                marked = await rows.days_read(change, seat.id)
                if keeps_row and now_holds == sheet:
                    for week in await _ended_weeks(change, seat, marked, rests, today):
                        await rows.keep_week(change, seat.id, week)
                kept_from = _first_kept(today, row=keeps_row or sheet is None)
                for on in marked:
                    if on < kept_from:
                        await rows.drop_day(change, seat.id, on)

    async def _days(self, read: Snapshot, seat_id: str) -> SeatDays:
        seat = await find_seat(read, seat_id)
        if seat is None:
            raise Refused("seat.closed")
        choir, _, _ = await self._choir(read, seat.choir_id)
        today, sheet = await self._open(read, seat.choir_id)
        first = max(seat.made_on, _unfolded_from(today))
        offered = await rows.offered_days(read, choir.id, first, today)
        marked, went = await rows.days_read(read, seat.id), await rows.taps_of(read, seat.id)
        still_open = today - timedelta(days=BACK_FILL_DAYS)
        row = None
        if Activity.PRACTICE_ROW in sheet.activities:
            rests = await rows.rests_of(read, choir.id)
            row = practice_row(
                offered,
                marked,
                today,
                given_rests=rests,
                past=await rows.weeks_of(read, seat.id),
                coming=_still_to_come(choir, today, offered | rests),
            )
        return SeatDays(
            choir=choir,
            today=today,
            sheet=sheet,
            days=tuple(
                OpenDay(on=on, read=on in marked, went=went.get(on))
                for on in sorted(offered, reverse=True)
                if on >= still_open
            ),
            row=row,
        )

    async def _open(self, read: Snapshot, choir_id: str) -> tuple[date, Sheet]:
        """The choir's date and the sheet that holds on it; Refused("seat.closed")."""
        zone = await self._zones.get(choir_id, lambda: zone_of(read, choir_id))
        if zone is None:
            raise Refused("choir.unknown", choir=choir_id)
        today = local_day(self._clock.now(), zone)
        sheet = await self._approvals.current_in(read, choir_id, today)
        if sheet is None or not sheet.meets:
            raise Refused("seat.closed")
        return today, sheet

    async def _choir(self, read: Snapshot, choir_id: str) -> tuple[Choir, date, Sheet | None]:
        choir = await find_choir(read, choir_id)
        if choir is None:
            raise Refused("choir.unknown")
        today = local_day(self._clock.now(), choir.zone)
        return choir, today, await self._approvals.current_in(read, choir_id, today)


async def _ended_weeks(
    read: Snapshot, seat: Seat, marked: frozenset[date], rests: frozenset[date], today: date
) -> Sequence[WeekCount]:
    """The weeks of a seat that are ready to be folded and are not folded yet."""
    kept = await rows.weeks_of(read, seat.id)
    begins = kept[-1].begins + _WEEK if kept else _monday(seat.made_on)
    weeks = []
    while begins < _unfolded_from(today):
        first, last = max(begins, seat.made_on), begins + _WEEK - timedelta(days=1)
        offered = await rows.offered_days(read, seat.choir_id, first, last)
        weeks.append(
            WeekCount(
                begins=begins,
                offered=sum(on in marked or on not in rests for on in offered),
                read=sum(on in marked for on in offered),
            )
        )
        begins += _WEEK
    return weeks


def _still_to_come(choir: Choir, today: date, known: frozenset[date]) -> int:
    """How many meeting days this week has yet to offer, today's where it is not up yet."""
    left = (today + timedelta(days=n) for n in range(7 - today.weekday()))
    return sum(day not in known and meets(choir.meeting, day) for day in left)


def _unfolded_from(today: date) -> date:
    """The Monday of last week: older days are folded, so none is kept for more than 14 days."""
    return _monday(today) - _WEEK


def _first_kept(today: date, *, row: bool) -> date:
    """The oldest day of which a mark is kept."""
    return _unfolded_from(today) if row else today - timedelta(days=BACK_FILL_DAYS)


def _monday(day: date) -> date:
    return day - timedelta(days=day.weekday())
