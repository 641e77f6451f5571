"""Days off out of a school's calendar file: what is offered to the director, and taking it over."""

from __future__ import annotations

import re
from collections.abc import Collection
from dataclasses import dataclass, replace
from datetime import date, timedelta

from bot.activities.calendar import Rotation
from bot.activities.choir import Choir
from bot.activities.reckoning import RECKONED_BACK
from bot.errors import Fault, InputProblems, Refused
from bot.service.choirs import Choirs
from bot.service.days_off import parse_days_off, write_days_off
from bot.service.school_calendar import SchoolEvent, read_calendar
from bot.wording import Wording

_AHEAD = timedelta(days=366)
# What comes back more often is a rotation or a club, and no day off.
_MOST_SPANS = 20
_MOST_EVENTS = 250
_MOST_DAYS_OFF = 2000


@dataclass(frozen=True, slots=True, kw_only=True)
class OfferedEvent:
    """One event. `spans` is what the form sends back for it; `off` are days that are off already.

    `ticked` where the title says that there is no school.
    """

    title: str
    first: date
    last: date
    count: int
    spans: str
    ticked: bool
    off: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Offer:
    """The events to choose from, the entries that could not be read, and how many were left out."""

    events: tuple[OfferedEvent, ...]
    passed_over: tuple[str, ...]
    left_out: int


def offer_days(data: bytes, file: str, choir: Choir, today: date, say: Wording) -> Offer:
    """Read a calendar from a fortnight back to a year ahead; InputProblems where it is none.

    Slow enough for a thread.
    """
    calendar = read_calendar(
        data, file, first=today - RECKONED_BACK, last=today + _AHEAD, zone=choir.zone
    )
    no_school = _phrases(say("calendar.no_school"))
    offered = [
        _offered(event, choir.meeting.days_off, no_school)
        for event in calendar.events
        if event.days
    ]
    fitting = [event for event in offered if event.spans.count(";") < _MOST_SPANS]
    shown = fitting
    if len(fitting) > _MOST_EVENTS:
        wanted = sorted(fitting, key=lambda event: not event.ticked)[:_MOST_EVENTS]
        shown = sorted(wanted, key=lambda event: (event.first, event.title))
    return Offer(
        events=tuple(shown),
        passed_over=tuple(str(fault) for fault in calendar.passed_over),
        left_out=len(offered) - len(shown),
    )


def chosen_days(spans: Collection[str], say: Wording) -> frozenset[date]:
    """The days of the events that were ticked; InputProblems for anything else."""
    days, problems = parse_days_off("\n".join(spans).replace(";", "\n"), say)
    if problems:
        raise InputProblems([Fault(place="", problem=problem) for problem in problems])
    if not days:
        raise InputProblems([Fault(place="", problem=say("calendar.none_chosen"))])
    return days


async def take_days_off(choirs: Choirs, taking: Collection[Choir], days: frozenset[date]) -> None:
    """Add days off to some choirs, or to none of them.

    Refused("calendar.anchor") where a choir's rotation is counted from one of the days,
    Refused("calendar.many") where there would be too many.
    """
    for choir in taking:
        pattern = choir.meeting.pattern
        if isinstance(pattern, Rotation) and pattern.anchor in days:
            raise Refused("calendar.anchor", choir=choir.name, day=pattern.anchor.isoformat())
        if len(choir.meeting.days_off | days) > _MOST_DAYS_OFF:
            raise Refused("calendar.many", choir=choir.name, most=_MOST_DAYS_OFF)
    for choir in taking:
        meeting = replace(choir.meeting, days_off=choir.meeting.days_off | days)
        await choirs.change(replace(choir, meeting=meeting))


def _offered(
    event: SchoolEvent, days_off: Collection[date], no_school: re.Pattern[str]
) -> OfferedEvent:
    return OfferedEvent(
        title=event.title,
        first=event.days[0],
        last=event.days[-1],
        count=len(event.days),
        spans=write_days_off(event.days).replace("\n", ";"),
        # A holiday concert in the evening takes no school day away.
        ticked=event.all_day and no_school.search(event.title) is not None,
        off=all(day in days_off for day in event.days),
    )


def _phrases(listed: str) -> re.Pattern[str]:
    """Any of the phrases of a list with commas, as whole words, in capitals or not."""
    phrases = [re.escape(phrase.strip()) for phrase in listed.split(",") if phrase.strip()]
    return re.compile(rf"(?<!\w)(?:{'|'.join(phrases) or '(?!)'})(?!\w)", re.IGNORECASE)
