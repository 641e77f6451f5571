"""Which readings a choir is due: its meeting days with the span in which each may be posted."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from itertools import islice, takewhile

from bot.activities.bell import posting_on
from bot.activities.calendar import day_ends_at, due_at, local_day, meetings_from, meets
from bot.activities.choir import Choir
from bot.activities.reading import DAILY


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedDay:
    """A meeting day: its reading goes up at `due` or later, before `ends` (aware, UTC)."""

    on: date
    due: datetime
    ends: datetime
    slot: str = DAILY


def planned(choir: Choir, on: date) -> PlannedDay:
    """The span of one date in the choir's zone, whether the choir meets on it or not."""
    return PlannedDay(
        on=on, due=due_at(on, posting_on(choir, on), choir.zone), ends=day_ends_at(on, choir.zone)
    )


def days_from(choir: Choir, first: date) -> Iterator[PlannedDay]:
    """Days with a reading from a date on, in order, none before the choir's start.

    A date that the zone skips altogether (Samoa had one) opens and closes at once: it is left out.
    """
    for on in meetings_from(choir.meeting, max(first, choir.starts_on)):
        day = planned(choir, on)
        if day.due < day.ends:
            yield day


def coming(choir: Choir, now: datetime, count: int) -> tuple[PlannedDay, ...]:
    """Today's reading, if the choir meets today, and those after it."""
    return tuple(islice(days_from(choir, local_day(now, choir.zone)), count))


def open_day(choir: Choir, now: datetime) -> PlannedDay | None:
    """Today, if the choir meets and the reading is due by now."""
    today = local_day(now, choir.zone)
    if today < choir.starts_on or not meets(choir.meeting, today):
        return None
    day = planned(choir, today)
    return day if day.due <= now < day.ends else None


def ended(choir: Choir, after: date, now: datetime) -> tuple[PlannedDay, ...]:
    """Days later than `after` that are over by now."""
    days = days_from(choir, after + timedelta(days=1))
    return tuple(takewhile(lambda day: day.ends <= now, days))


def next_instant(choir: Choir, now: datetime) -> datetime | None:
    """When the scheduler has to look at this choir again: the next due time or end of a day."""
    for day in days_from(choir, local_day(now, choir.zone)):
        for moment in (day.due, day.ends):
            if moment > now:
                return moment
    return None
