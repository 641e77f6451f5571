"""Calendar and practice row over every time zone and every clock change from 2020 to 2035.

The quick part looks at a few zones and at those with odd changes; the long part at all.
What is right is told here by plain walking from minute to minute, by another way than the program.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from functools import cache
from itertools import pairwise
from zoneinfo import ZoneInfo, available_timezones

import pytest

from bot.activities.calendar import (
    Meeting,
    Rotation,
    Weekdays,
    cycle_day,
    day_ends_at,
    due_at,
    local_day,
    meetings_from,
    meets,
)
from bot.activities.choir import Choir
from bot.activities.plan import coming, next_instant, open_day, planned
from bot.activities.practice import Mark, may_mark, practice_row
from tests.fakes.choirs import a_choir

BEGIN, END = datetime(2020, 1, 1, tzinfo=UTC), datetime(2036, 1, 1, tzinfo=UTC)
_MINUTE, _DAY = timedelta(minutes=1), timedelta(days=1)
_STEP = timedelta(hours=6)  # no zone changes its clock twice within so short a time
# By half an hour, at midnight, on a Friday, in Ramadan, by two hours, in the evening, the far ends.
_ODD = (
    "Africa/Cairo",
    "Africa/Casablanca",
    "Africa/El_Aaiun",
    "America/Asuncion",
    "America/Havana",
    "America/Nuuk",
    "America/Santiago",
    "America/Scoresbysund",
    "America/St_Johns",
    "Antarctica/Casey",
    "Antarctica/Troll",
    "Asia/Amman",
    "Asia/Beirut",
    "Asia/Gaza",
    "Australia/Lord_Howe",
    "Europe/Dublin",
    "Pacific/Apia",
    "Pacific/Chatham",
    "Pacific/Easter",
    "Pacific/Fiji",
    "Pacific/Kiritimati",
    "Pacific/Norfolk",
)


def _zones(every: int) -> list[str]:
    plain = sorted(zone for zone in available_timezones() if "/" in zone or zone == "UTC")
    return sorted({*plain[::every], *(zone for zone in _ODD if zone in plain)})


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """A change of a zone's clocks: the first whole minute at which the new offset holds."""

    at: datetime
    by: timedelta


@cache
def changes_of(zone: str) -> tuple[Change, ...]:
    """Every change between 2020 and 2035, found by looking every six hours and then closer."""
    rules, found = ZoneInfo(zone), []

    def offset(at: datetime) -> timedelta:
        shown = at.astimezone(rules).utcoffset()
        assert shown is not None
        return shown

    at = BEGIN
    while at < END:
        if offset(at) != offset(at + _STEP):
            early, late = at, at + _STEP
            while late - early > _MINUTE:
                middle = early + (late - early) // 2 // _MINUTE * _MINUTE
                early, late = (early, middle) if offset(middle) != offset(at) else (middle, late)
            found.append(Change(at=late, by=offset(late) - offset(early)))
        at += _STEP
    return tuple(found)


def shown(at: datetime, zone: str) -> datetime:
    """What the zone's clocks show."""
    return at.astimezone(ZoneInfo(zone)).replace(tzinfo=None)


def check_due_times(zone: str, change: Change) -> None:
    """Around a change: first minute that shows the time or more, and nothing due twice."""
    start = change.at - timedelta(hours=26)
    minutes = [(start + n * _MINUTE, shown(start + n * _MINUTE, zone)) for n in range(52 * 60)]
    first: dict[datetime, datetime] = {}
    latest = minutes[0][1]
    for at, clock in minutes:
        while latest <= clock:  # times that a change skips fall due at its first instant
            first.setdefault(latest, at)
            latest += _MINUTE
    around = shown(change.at, zone)
    for offset in range(-130, 131, 5):
        wanted = around.replace(second=0, microsecond=0) + offset * _MINUTE
        due = due_at(wanted.date(), wanted.time(), zone)
        assert due == first[wanted], (zone, wanted)


def check_days(zone: str, change: Change) -> None:
    """Local days follow one another without gap and overlap; each instant has one of them."""
    day = local_day(change.at, zone) - 2 * _DAY
    for _ in range(4):
        ends = day_ends_at(day, zone)
        assert ends == due_at(day + _DAY, time(0), zone)
        assert local_day(ends, zone) > day
        assert local_day(ends - timedelta(seconds=1), zone) <= day, (zone, day)
        day += _DAY


def check_postings(zone: str, change: Change, choir: Choir) -> None:
    """Over a change a daily line is due once a day, in order, and open from then to midnight.

    Where a change skips the posting time and all of the day after it, that day has no line.
    """
    before = change.at - 2 * _DAY
    plans = coming(choir, before, 5)
    days = [local_day(before, zone) + n * _DAY for n in range(6)]
    cut_off = [day for day in days if due_at(day, choir.post_at, zone) == day_ends_at(day, zone)]
    assert [plan.on for plan in plans] == [day for day in days if day not in cut_off][:5]
    assert all(shown(change.at, zone).time() == time(0) and change.by > 0 * _DAY for _ in cut_off)
    for plan, following in pairwise(plans):
        assert plan.due < plan.ends <= following.due
        assert plan == planned(choir, plan.on)
        opened = open_day(choir, plan.due)
        assert opened is not None
        assert opened.on == plan.on
        early = open_day(choir, plan.due - _MINUTE)
        assert early is None or early.on < plan.on
        wake = next_instant(choir, plan.due - _MINUTE)
        assert wake is not None
        assert wake <= plan.due


def check_taps(zone: str, change: Change) -> None:
    """A tap at any moment around a change marks the day that people there write, for three days."""
    for hours in range(-30, 31, 3):
        now = change.at + timedelta(hours=hours)
        today = local_day(now, zone)
        assert today == shown(now, zone).date()
        days = [today + n * _DAY for n in range(-6, 3)]
        assert [n for n, day in enumerate(days, start=-6) if may_mark(days, day, today)] == [
            -3,
            -2,
            -1,
            0,
        ]


def check_row(zone: str, change: Change) -> None:
    """A week with a change in it is kept by the same days as any other, whenever one looks."""
    monday = local_day(change.at, zone)
    monday -= timedelta(days=monday.weekday())
    week = [monday + n * _DAY for n in range(5)]
    read = week[:3]
    for hours in range(0, 14 * 24, 9):
        now = due_at(monday, time(12), zone) + timedelta(hours=hours)
        today = local_day(now, zone)
        done, left = [day for day in read if day <= today], [day for day in week if day > today]
        row = practice_row(week, done, today, coming=len(left))
        assert row.kept == (today >= read[-1]), (zone, now)
        assert [day.on for days in row.weeks for day in days] == [d for d in week if d <= today]
        notes = sum(day.mark is Mark.READ for days in row.weeks for day in days)
        assert notes == sum(day <= today for day in read)


def check_meetings(zone: str, change: Change) -> None:
    """Which days a choir meets on is a matter of dates: no change of clocks moves a rotation."""
    on = local_day(change.at, zone)
    rotation = Rotation(length=6, meets_on=frozenset({2, 5}), anchor=date(2020, 1, 6))
    meeting = Meeting(pattern=rotation, days_off=frozenset({on - 7 * _DAY}))
    days = [on + n * _DAY for n in range(-14, 15)]
    cycle = [
        cycle_day(rotation, meeting.days_off, day)
        for day in days
        if day.weekday() < 5 and day not in meeting.days_off
    ]
    assert all(after == before % 6 + 1 for before, after in pairwise(cycle))
    expected = [day for day in days if meets(meeting, day)]
    found = list(_until(meetings_from(meeting, days[0]), days[-1]))
    assert found == expected


def _until(days: Iterator[date], last: date) -> Iterator[date]:
    for day in days:
        if day > last:
            return
        yield day


def check_zone(zone: str, every: int = 1) -> int:
    """Everything about one zone at each `every`-th change; how many changes it had."""
    everyday = Meeting(pattern=Weekdays(days=frozenset(range(7))))
    for change in changes_of(zone)[::every]:
        check_due_times(zone, change)
        check_days(zone, change)
        check_taps(zone, change)
        check_row(zone, change)
        check_meetings(zone, change)
        moved = shown(change.at, zone).time().replace(second=0, microsecond=0)
        for post_at in {time(8), moved, time(0), time(23, 59)}:
            choir = a_choir(zone=zone, post_at=post_at, meeting=everyday, starts_on=BEGIN.date())
            check_postings(zone, change, choir)
    return len(changes_of(zone))


@pytest.mark.parametrize("zone", _zones(every=60))
def test_a_sample_of_zones(zone):
    check_zone(zone, every=3)  # an odd number: springs and autumns in turn


def test_the_changes_are_really_found():
    new_york = [change.at for change in changes_of("America/New_York")]
    assert len(new_york) == 32
    assert datetime(2026, 3, 8, 7, tzinfo=UTC) in new_york
    assert {change.by for change in changes_of("Australia/Lord_Howe")} == {
        timedelta(minutes=30),
        timedelta(minutes=-30),
    }
    assert changes_of("UTC") == ()


@pytest.mark.long
def test_every_zone_and_every_change():
    assert sum(check_zone(zone) for zone in _zones(every=1)) > 4000
