"""A school's calendar file (iCalendar, RFC 5545) read for days: which event falls on which dates.

The file comes from anywhere, so it is read with a short leash: sub-daily rules are refused, since
they can keep a recurrence busy for ever; size, events and occurrences are bounded; a rule without
an end is followed within the school year only. Nothing of the file is kept but the dates that the
director ticks.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from itertools import islice
from typing import Any
from zoneinfo import ZoneInfo

from dateutil.rrule import rrulestr
from icalendar import Calendar

from bot.errors import Fault, InputProblems

LARGEST_BYTES = 2**20
MOST_EVENTS = 4000
MOST_DAYS = 20_000
_Event = Any  # the library types an event as a mapping of two dozen kinds of values
_LONGEST_EVENT = timedelta(days=120)  # a summer
_EARLIEST = date(1990, 1, 1)
_TITLE = 80
_DAY = timedelta(days=1)
_DAILY_OR_SLOWER = {"DAILY", "WEEKLY", "MONTHLY", "YEARLY"}
_BY_TIME = {"BYHOUR", "BYMINUTE", "BYSECOND"}


@dataclass(frozen=True, slots=True, kw_only=True)
class SchoolEvent:
    """An event of the calendar: its title, the dates on which it lies, whether it lasts all day."""

    title: str
    days: tuple[date, ...]
    all_day: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class SchoolCalendar:
    """The events of a span of dates in the order of their first day, and what was passed over."""

    events: tuple[SchoolEvent, ...]
    passed_over: tuple[Fault, ...]


def read_calendar(data: bytes, file: str, *, first: date, last: date, zone: str) -> SchoolCalendar:
    """Read the events between two dates, both included, as they fall in the choir's time zone.

    InputProblems where the file is no calendar or too large. An event that cannot be read is passed
    over with a fault that names it, so that one bad entry does not cost the rest.
    """
    if len(data) > LARGEST_BYTES:
        problem = f"{len(data):,} bytes: a calendar may have {LARGEST_BYTES:,}"
        raise InputProblems([Fault(place=file, problem=problem, remedy="export one year only")])
    try:
        calendar = Calendar.from_ical(data)
    except (ValueError, IndexError, KeyError, AttributeError, TypeError) as error:
        raise InputProblems(
            [Fault(place=file, problem="no iCalendar file", remedy="export it as .ics")]
        ) from error
    found = calendar.walk("VEVENT")
    if len(found) > MOST_EVENTS:
        problem = f"{len(found):,} events: a calendar may have {MOST_EVENTS:,}"
        raise InputProblems([Fault(place=file, problem=problem, remedy="export one year only")])
    return _gather(found, file, _Window(first=first, last=last, zone=ZoneInfo(zone)))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Window:
    first: date
    last: date
    zone: ZoneInfo

    def within(self, start: date, days: int) -> Iterator[date]:
        for n in range(days):
            if self.first <= start + n * _DAY <= self.last:
                yield start + n * _DAY


def _gather(found: list[_Event], file: str, window: _Window) -> SchoolCalendar:
    moved = _moved(found)
    events: list[SchoolEvent] = []
    faults: list[Fault] = []
    total = 0
    for event in found:
        title = " ".join(str(event.get("SUMMARY", "")).split())[:_TITLE]
        try:
            read = _read(event, title, window, moved)
        except (ValueError, TypeError, KeyError, AttributeError, OverflowError) as error:
            place = f"{file}: {title}" if title else file
            faults.append(Fault(place=place, problem=f"passed over: {error}"))
            continue
        total += len(read.days)
        if total > MOST_DAYS:
            faults.append(Fault(place=file, problem=f"more than {MOST_DAYS:,} days in the span"))
            break
        if read.days:
            events.append(read)
    events.sort(key=lambda event: (event.days[0], event.title))
    return SchoolCalendar(events=tuple(events), passed_over=tuple(faults))


def _read(
    event: _Event, title: str, window: _Window, moved: frozenset[tuple[str, date]]
) -> SchoolEvent:
    if str(event.get("STATUS", "")).upper() == "CANCELLED":
        return SchoolEvent(title=title, days=(), all_day=True)
    start = event.decoded("DTSTART")
    all_day = not isinstance(start, datetime)
    days = _length_days(event, start, window)
    wanted: set[date] = set()
    for begin in _beginnings(event, start, days, window, moved):
        wanted.update(window.within(begin, days))
    return SchoolEvent(title=title, days=tuple(sorted(wanted)), all_day=all_day)


def _length_days(event: _Event, start: date | datetime, window: _Window) -> int:
    """Dates that one occurrence touches; DTEND is not part of the event (RFC 5545, 3.6.1)."""
    if "DTEND" in event:
        end = event.decoded("DTEND")
    elif "DURATION" in event:
        end = start + event.decoded("DURATION")
    else:
        return 1
    if isinstance(start, datetime) != isinstance(end, datetime):
        raise ValueError("it starts with a time and ends without one, or the reverse")
    if isinstance(start, datetime):
        moment = _local(end, window) - timedelta(microseconds=1)
        days = (moment.date() - _local(start, window).date()).days + 1
    else:
        days = (end - start).days
    if days > _LONGEST_EVENT.days:
        raise ValueError(f"it lasts {days} days, {_LONGEST_EVENT.days} at most")
    return max(days, 1)


def _beginnings(
    event: _Event,
    start: date | datetime,
    days: int,
    window: _Window,
    moved: frozenset[tuple[str, date]],
) -> Iterator[date]:
    """First dates of the occurrences that can touch the window, RFC 5545's exceptions left out."""
    begin = _local(start, window)
    if begin.date() < _EARLIEST and "RRULE" in event:
        raise ValueError(f"it has been coming back since {begin.date()}")
    out = {day.date() for day in _dates(event, "EXDATE", window)}
    if "RECURRENCE-ID" not in event:
        uid = str(event.get("UID", ""))
        out |= {day for other, day in moved if other == uid}
    seen = [begin, *(day for day in _dates(event, "RDATE", window))]
    if "RRULE" in event:
        seen += list(_follow(event, start, days, window))
    for each in seen:
        if each.date() not in out:
            yield each.date()


def _follow(
    event: _Event, start: date | datetime, days: int, window: _Window
) -> Iterator[datetime]:
    """Occurrences of the rule inside the window; the first one is DTSTART's own.

    A rule is followed on the clock of its own event (RFC 5545, 3.3.10): Thursday at one in UTC is
    Wednesday evening for a choir in New York.
    """
    zone = start.tzinfo if isinstance(start, datetime) else None
    begin = (
        start.replace(tzinfo=None)
        if isinstance(start, datetime)
        else datetime.combine(start, time.min)
    )
    rules = event["RRULE"]
    for rule in rules if isinstance(rules, list) else [rules]:
        often = str(rule.get("FREQ", [""])[0]).upper()
        if often not in _DAILY_OR_SLOWER or _BY_TIME & set(rule):
            raise ValueError("it comes back more than once a day")
        text = _naive_until(rule.to_ical().decode(), zone)
        # A day more on either side: the choir's clock may be elsewhere than the event's.
        after = datetime.combine(window.first, time.min) - (days + 1) * _DAY
        before = datetime.combine(window.last, time.max) + _DAY
        for found in islice(
            rrulestr(text, dtstart=begin).between(after, before, inc=True), MOST_DAYS
        ):
            yield found if zone is None else _local(found.replace(tzinfo=zone), window)


def _naive_until(rule: str, zone: tzinfo | None) -> str:
    """The rule with UNTIL on the event's own clock; a bare date lasts to its end."""
    parts = []
    for part in rule.split(";"):
        name, _, value = part.partition("=")
        if name.upper() == "UNTIL":
            value = f"{value}T235959" if len(value) == len("19971224") else value
            if value.endswith("Z") and zone is not None:
                at = datetime.strptime(value, "%Y%m%dT%H%M%SZ").replace(tzinfo=UTC)
                value = at.astimezone(zone).strftime("%Y%m%dT%H%M%S")
            parts.append(f"UNTIL={value.removesuffix('Z')}")
        else:
            parts.append(part)
    return ";".join(parts)


def _dates(event: _Event, name: str, window: _Window) -> Iterator[datetime]:
    values = event.get(name, [])
    for group in values if isinstance(values, list) else [values]:
        for each in group.dts:
            if isinstance(each.dt, date):
                yield _local(each.dt, window)


def _moved(found: list[_Event]) -> frozenset[tuple[str, date]]:
    """Occurrences that another event replaces: its UID and the date it would have had."""
    pairs = set()
    for event in found:
        if "RECURRENCE-ID" in event:
            day = event.decoded("RECURRENCE-ID")
            pairs.add((str(event.get("UID", "")), day.date() if isinstance(day, datetime) else day))
    return frozenset(pairs)


def _local(day: date | datetime, window: _Window) -> datetime:
    """Midnight of a date, or a moment as the choir's clocks show it, without its zone."""
    if not isinstance(day, datetime):
        return datetime.combine(day, time.min)
    return day.astimezone(window.zone).replace(tzinfo=None) if day.tzinfo else day
