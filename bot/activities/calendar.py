"""School days: when a choir meets, and the instant at which a local time falls due.

Dates belong to a choir's time zone. Nothing here reads a clock; instants come in and go out aware
and in UTC.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from typing import assert_never
from zoneinfo import ZoneInfo

_SCHOOL_WEEKDAYS = 5  # Monday to Friday
_DAY = timedelta(days=1)
_HORIZON_DAYS = 800  # how far ahead a next meeting is looked for: over two years off


@dataclass(frozen=True, slots=True, kw_only=True)
class Weekdays:
    """A choir that meets on fixed weekdays; 0 is Monday."""

    days: frozenset[int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Rotation:
    """A choir that meets on some days of a cycle of school days (A/B is a cycle of two).

    `anchor` is a school day that is the first day of the cycle; `meets_on` counts from 1.
    Days without school (weekends, days off) do not move the cycle on.
    """

    length: int
    meets_on: frozenset[int]
    anchor: date


@dataclass(frozen=True, slots=True, kw_only=True)
class ShortDay:
    """A school day with another bell, in local time: early release, late opening."""

    on: date
    bell_at: time


@dataclass(frozen=True, slots=True, kw_only=True)
class Meeting:
    """A meeting pattern less the days that the calendar takes away.

    `short_days` change when a lesson begins, never whether there is one; each date stands once.
    """

    pattern: Weekdays | Rotation
    days_off: frozenset[date] = frozenset()
    short_days: frozenset[ShortDay] = frozenset()


def meets(meeting: Meeting, day: date) -> bool:
    """Whether a choir with this pattern meets on that day."""
    if day in meeting.days_off:
        return False
    match meeting.pattern:
        case Weekdays(days=days):
            return day.weekday() in days
        case Rotation() as rotation:
            if day.weekday() >= _SCHOOL_WEEKDAYS:
                return False
            return cycle_day(rotation, meeting.days_off, day) in rotation.meets_on
    assert_never(meeting.pattern)


def other_bell(meeting: Meeting, day: date) -> time | None:
    """The local time at which a lesson begins on a short day; None on any other day."""
    return next((short.bell_at for short in meeting.short_days if short.on == day), None)


def cycle_day(rotation: Rotation, days_off: frozenset[date], day: date) -> int:
    """The place of a school day in the cycle, from 1; days before the anchor count backwards."""
    if day >= rotation.anchor:
        passed = _school_days(rotation.anchor, day, days_off)
    else:
        passed = -_school_days(day, rotation.anchor, days_off)
    return passed % rotation.length + 1


def _school_days(start: date, end: date, days_off: frozenset[date]) -> int:
    """Days of school from `start` up to and without `end`."""
    weeks, rest = divmod((end - start).days, 7)
    tail = sum((start + n * _DAY).weekday() < _SCHOOL_WEEKDAYS for n in range(rest))
    off = sum(start <= day < end and day.weekday() < _SCHOOL_WEEKDAYS for day in days_off)
    return weeks * _SCHOOL_WEEKDAYS + tail - off


def meetings_from(meeting: Meeting, first: date) -> Iterator[date]:
    """Meeting days from `first` on, in order; ends where none comes for over two years."""
    day, idle = first, 0
    while idle < _HORIZON_DAYS and day < date.max - _DAY:
        if meets(meeting, day):
            idle = 0
            yield day
        idle += 1
        day += _DAY


def due_at(day: date, local_time: time, zone: str) -> datetime:
    """The instant at which a local time comes on a day.

    A time that a clock change skips means the first instant after the gap; one that occurs twice
    means the first of the two. (zoneinfo alone answers 03:30 for a skipped 02:30.)

    >>> due_at(date(2026, 3, 8), time(2, 30), "America/New_York").isoformat()
    '2026-03-08T07:00:00+00:00'
    """
    rules = ZoneInfo(zone)
    wanted = datetime.combine(day, local_time)
    first = wanted.replace(tzinfo=rules, fold=0).astimezone(UTC)
    if first.astimezone(rules).replace(tzinfo=None) == wanted:
        return first
    # Inside a gap, fold 0 reads the offset before it and fold 1 the one after it, so the change
    # lies between the two answers.
    before = wanted.replace(tzinfo=rules, fold=1).astimezone(UTC)
    return _change_between(before, first, rules)


def _change_between(before: datetime, after: datetime, rules: ZoneInfo) -> datetime:
    """The first whole second at which the offset of `after` holds; it does not at `before`."""
    new_offset = after.astimezone(rules).utcoffset()

    def changed(second: int) -> bool:
        moment = before + timedelta(seconds=second)
        return moment.astimezone(rules).utcoffset() == new_offset

    span = int((after - before).total_seconds())
    return before + timedelta(seconds=bisect_left(range(span), True, key=changed))


def day_ends_at(day: date, zone: str) -> datetime:
    """The first instant of the next local day."""
    return due_at(day + _DAY, time(0), zone)


def local_day(moment: datetime, zone: str) -> date:
    """The date that people in the zone write at an aware moment."""
    return moment.astimezone(ZoneInfo(zone)).date()


def in_zone(moment: datetime, zone: str) -> datetime:
    """An aware moment as the zone's clocks show it."""
    return moment.astimezone(ZoneInfo(zone))
