"""How far singers held the line at home after the page went: asked, kept for the week, folded.

A seat has one number a week, the last one that it told. When the week has ended those of a choir
become one figure, their middle and how many they were, and the numbers are gone. Fewer than the
approval's smallest group leave no figure at all. Without an approval of this nothing is asked.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from bot.activities.calendar import local_day
from bot.activities.curtain import HomeWeek, home_week
from bot.errors import Refused
from bot.privacy.approval import LONGEST_KEPT_DAYS, Activity, Sheet
from bot.service.approvals import Approvals
from bot.service.clips import earlier, films_beats
from bot.service.clock import Clock
from bot.store import home_spans as rows
from bot.store.choirs import find_choir
from bot.store.database import Database, Snapshot
from bot.store.readings import find_reading
from bot.store.seats import find_seat


@dataclass(frozen=True, slots=True, kw_only=True)
class SpanAsked:
    """What a seat can tell until the week's `last` day, and the beats that it `told` this week.

    `least` is how many singers make a figure of the class.
    """

    choir_id: str
    told: int | None
    last: date
    least: int


class HomeSpans:
    """Everything is acknowledged after it is kept."""

    def __init__(self, database: Database, clock: Clock, approvals: Approvals) -> None:
        self._database = database
        self._clock = clock
        self._approvals = approvals

    async def asked_in(self, choir_id: str) -> bool:
        """Whether the approval lets singers of a choir tell it."""
        async with self._database.snapshot() as read:
            _, sheet = await self._sheet(read, choir_id)
        return sheet is not None

    async def asked(self, seat_id: str) -> SpanAsked | None:
        """What this seat can tell this week; None where no approval lets it."""
        async with self._database.snapshot() as read:
            seat = await find_seat(read, seat_id)
            if seat is None:
                return None
            today, sheet = await self._sheet(read, seat.choir_id)
            if sheet is None:
                return None
            told = (await rows.spans_of(read, seat_id)).get(_monday(today))
        return SpanAsked(
            choir_id=seat.choir_id,
            told=told,
            last=_monday(today) + timedelta(days=6),
            least=sheet.least_in_class,
        )

    async def tell(self, seat_id: str, reading_id: str, beats: int | None) -> None:
        """Keep how many beats were held after the page went in a film of this reading.

        None takes the week's number back. Refused("seat.closed"), Refused("span.not_asked"),
        Refused("reading.unknown"), Refused("curtain.beats") for more than the film leaves.
        """
        async with self._database.transaction() as change:
            seat = await find_seat(change, seat_id)
            if seat is None:
                raise Refused("seat.closed")
            today, sheet = await self._sheet(change, seat.choir_id)
            if sheet is None:
                raise Refused("span.not_asked")
            if beats is None:
                await rows.drop_span(change, seat_id, _monday(today))
                return
            reading = await find_reading(change, reading_id)
            if reading is None or reading.choir_id != seat.choir_id:
                raise Refused("reading.unknown", reading=reading_id)
            # Which part a singer saw is not asked: the film that leaves most decides.
            films = films_beats(reading, await earlier(change, reading))
            left = max(len(beats) for beats in films)
            if not 0 <= beats <= left:
                raise Refused("curtain.beats", left=left)
            change.allow(sheet.fields)
            await rows.keep_span(change, seat_id, _monday(today), beats)

    async def weeks(self, choir_id: str) -> tuple[HomeWeek, ...]:
        """The choir's weeks at home as they may be shown, the oldest first.

        The week that goes on is not among them; without an approval there are none.
        """
        async with self._database.snapshot() as read:
            choir = await find_choir(read, choir_id)
            if choir is None:
                raise Refused("choir.unknown")
            today = local_day(self._clock.now(), choir.zone)
            sheet = await self._approvals.current_in(read, choir_id, today)
            if sheet is None:
                return ()
            weeks = await rows.home_weeks(read, choir_id)
        return tuple(week for week in weeks if week.seats >= sheet.least_in_class)

    async def fold(self, choir_id: str) -> None:
        """Make one figure of each week that has ended; where no approval holds, only forget it."""
        async with self._database.transaction() as change:
            choir = await find_choir(change, choir_id)
            if choir is None:
                return
            today, sheet = await self._sheet(change, choir_id)
            for monday, told in (await rows.take_ended(change, choir_id, _monday(today))).items():
                week = None if sheet is None else home_week(monday, told, sheet.least_in_class)
                if week is not None:
                    await rows.keep_home_week(change, choir_id, week)
            longest = timedelta(days=LONGEST_KEPT_DAYS["totals"])
            await rows.drop_home_weeks_before(change, choir_id, today - longest)

    async def _sheet(self, read: Snapshot, choir_id: str) -> tuple[date, Sheet | None]:
        """The choir's date, and the sheet that lets it tell spans on it."""
        choir = await find_choir(read, choir_id)
        if choir is None:
            raise Refused("choir.unknown", choir=choir_id)
        today = local_day(self._clock.now(), choir.zone)
        sheet = await self._approvals.current_in(read, choir_id, today)
        allowed = sheet is not None and sheet.meets and Activity.SPAN in sheet.activities
        return today, sheet if allowed else None


def _monday(day: date) -> date:
    return day - timedelta(days=day.weekday())
