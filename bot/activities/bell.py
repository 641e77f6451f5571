"""Whose lesson it is: the bells of a day."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, time, timedelta

from bot.activities.calendar import due_at, local_day, meets, other_bell
from bot.activities.choir import Choir

EARLY = timedelta(minutes=10)  # a lesson counts as begun this long before its bell


def bell_on(choir: Choir, day: date) -> time:
    """The local time at which a choir's lesson begins on a day, whether it meets on it or not."""
    return other_bell(choir.meeting, day) or choir.bell_at or choir.post_at


def posting_on(choir: Choir, day: date) -> time:
    """The local time at which a day's line goes up.

    On a short day a line that goes up with the bell follows it, and one that goes up before the
    bell is up by the earlier bell. A line that goes up after the lesson keeps its time.
    """
    other = other_bell(choir.meeting, day)
    if other is None:
        return choir.post_at
    if choir.bell_at is None:
        return other
    return min(choir.post_at, other) if choir.post_at <= choir.bell_at else choir.post_at


def bell_today(choir: Choir, now: datetime) -> datetime | None:
    """When a choir's lesson of today begins (aware, UTC); None where it does not meet today."""
    today = local_day(now, choir.zone)
    if today < choir.starts_on or not meets(choir.meeting, today):
        return None
    return due_at(today, bell_on(choir, today), choir.zone)


def by_bell(choirs: Sequence[Choir], now: datetime) -> tuple[Choir, ...]:
    """The choirs that meet today in the order of their bells, then the others as they come."""
    bells = {choir.id: bell_today(choir, now) for choir in choirs}
    today = [choir for choir in choirs if bells[choir.id] is not None]
    others = [choir for choir in choirs if bells[choir.id] is None]
    return (*sorted(today, key=lambda choir: bells[choir.id] or now), *others)


def choir_in_the_room(choirs: Sequence[Choir], now: datetime) -> Choir | None:
    """The choir whose bell rang last, or rings within minutes; before the first bell, the first.

    On a day without lessons the first of all; None only where there is no choir.
    """
    order = by_bell(choirs, now)
    begun = [
        choir
        for choir in order
        if (bell := bell_today(choir, now)) is not None and bell <= now + EARLY
    ]
    return next(iter([*begun[::-1], *order]), None)
