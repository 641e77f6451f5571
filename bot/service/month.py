"""A month in one look: every day of its weeks with what was, is or will be read."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date, time, timedelta
from enum import StrEnum

from bot.activities.calendar import local_day, meets, other_bell
from bot.activities.choir import Choir
from bot.activities.reading import Reading
from bot.activities.reading_day import Phase
from bot.activities.reckoning import still_missed
from bot.service.cards import title_of
from bot.service.choirs import Choirs
from bot.service.clock import Clock
from bot.service.shown_page import page_shown
from bot.store.database import Database
from bot.store.month import phases_between, readings_between
from bot.wording import Wording

_SCHOOL_WEEK = 5
_DAY = timedelta(days=1)


class DayMark(StrEnum):
    """What a day is for a choir."""

    POSTED = "posted"
    UNSURE = "unsure"  # may or may not have arrived
    MISSED = "missed"
    READY = "ready"  # composed, not posted yet
    PLANNED = "planned"  # a meeting to come without a line so far
    OFF = "off"
    NONE = "none"  # no meeting, or before the choir began


@dataclass(frozen=True, slots=True, kw_only=True)
class MonthDay:
    """One day; `title` names its line, None where it has none to show.

    `bell` is when the lesson begins on a day with early release, None on any other day.
    """

    on: date
    mark: DayMark
    title: str | None
    today: bool
    inside: bool
    bell: time | None = None


class Months:
    """Looks months up."""

    def __init__(self, database: Database, choirs: Choirs, clock: Clock, say: Wording) -> None:
        self._database = database
        self._choirs = choirs
        self._clock = clock
        self._say = say

    async def weeks(self, choir_id: str, first: date) -> tuple[tuple[MonthDay, ...], ...]:
        """The weeks that touch the month beginning on `first`, Monday to Friday.

        Weekends come along in weeks in which something happens on them.
        """
        choir = await self._choirs.get(choir_id)
        today = local_day(self._clock.now(), choir.zone)
        begin = first - first.weekday() * _DAY
        last = (first + 31 * _DAY).replace(day=1) - _DAY
        end = last + (6 - last.weekday()) * _DAY
        async with self._database.snapshot() as read:
            readings = await readings_between(read, choir_id, begin, end)
            phases = await phases_between(read, choir_id, begin, end)
        weeks = []
        for number in range(((end - begin).days + 1) // 7):
            days = [begin + (7 * number + n) * _DAY for n in range(7)]
            week = [
                self._day(choir, on, today, first, readings.get(on), phases.get(on, frozenset()))
                for on in days
            ]
            weekend = any(day.mark is not DayMark.NONE for day in week[_SCHOOL_WEEK:])
            weeks.append(tuple(week if weekend else week[:_SCHOOL_WEEK]))
        return tuple(weeks)

    def _day(
        self,
        choir: Choir,
        on: date,
        today: date,
        first: date,
        reading: Reading | None,
        phases: Collection[Phase],
    ) -> MonthDay:
        mark = mark_of(choir, on, today, phases, drawn=reading is not None)
        shown = reading if mark in _WITH_A_LINE else None
        return MonthDay(
            on=on,
            mark=mark,
            title=None
            if shown is None
            else title_of(shown, self._say, bare=page_shown(shown, choir).rhythm_only),
            today=on == today,
            inside=on.month == first.month,
            bell=other_bell(choir.meeting, on) if meets(choir.meeting, on) else None,
        )


_WITH_A_LINE = (DayMark.POSTED, DayMark.UNSURE, DayMark.READY)


def mark_of(
    choir: Choir, on: date, today: date, phases: Collection[Phase], *, drawn: bool
) -> DayMark:
    """What a day is, from what is known of it on all surfaces and the calendar as it is now."""
    if Phase.SENT in phases or Phase.CLAIMED in phases:
        return DayMark.POSTED
    if Phase.UNSURE in phases:
        return DayMark.UNSURE
    if Phase.MISSED in phases and still_missed(choir.meeting, on, today):
        return DayMark.MISSED
    if on in choir.meeting.days_off:
        return DayMark.OFF if on.weekday() < _SCHOOL_WEEK else DayMark.NONE
    if on < max(today, choir.starts_on) or not meets(choir.meeting, on):
        return DayMark.NONE
    return DayMark.READY if drawn else DayMark.PLANNED
