"""School days and due times, against slow and plain reckonings made here."""

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bot.activities.calendar import (
    Meeting,
    Rotation,
    Weekdays,
    cycle_day,
    day_ends_at,
    due_at,
    in_zone,
    local_day,
    meetings_from,
    meets,
)

# Half-hour shifts, changes at midnight, at two and at ten in the evening, no changes, far east
# and far west, and a day that never was.
ZONES = (
    "America/New_York",
    "America/Havana",
    "America/Santiago",
    "America/Nuuk",
    "America/St_Johns",
    "Africa/Cairo",
    "Africa/Casablanca",
    "Asia/Beirut",
    "Asia/Kolkata",
    "Australia/Lord_Howe",
    "Europe/Berlin",
    "Pacific/Apia",
    "Pacific/Kiritimati",
    "Antarctica/Troll",
    "UTC",
)
DAYS = st.dates(date(2009, 1, 1), date(2036, 12, 31))
MONDAY = date(2026, 9, 7)


def first_minute_at(day: date, local_time: time, zone: str) -> datetime:
    """Slow and plain: walk through the minutes until the zone's clocks show the time or more."""
    wanted = datetime.combine(day, local_time)
    rules = ZoneInfo(zone)
    moment = datetime.combine(day, local_time, UTC) - timedelta(hours=16)
    shown = moment.astimezone(rules).replace(tzinfo=None)
    while shown < wanted:
        moment += timedelta(minutes=1)
        shown = moment.astimezone(rules).replace(tzinfo=None)
    return moment


@settings(max_examples=150, deadline=None)
@given(DAYS, st.integers(0, 1439), st.sampled_from(ZONES))
def test_a_due_time_is_the_first_minute_that_shows_it_or_comes_after_the_gap(day, minute, zone):
    local_time = time(minute // 60, minute % 60)

    assert due_at(day, local_time, zone) == first_minute_at(day, local_time, zone)


@settings(max_examples=150, deadline=None)
@given(DAYS, st.sampled_from(ZONES))
def test_a_day_ends_where_the_next_one_begins(day, zone):
    end = day_ends_at(day, zone)

    assert local_day(end, zone) > day
    assert local_day(end - timedelta(seconds=1), zone) <= day


@pytest.mark.parametrize(
    ("zone", "day", "wanted", "shown"),
    [
        ("America/New_York", date(2026, 3, 8), time(2, 30), "2026-03-08T03:00:00-04:00"),
        ("Europe/Berlin", date(2026, 3, 29), time(2, 0), "2026-03-29T03:00:00+02:00"),
        ("Australia/Lord_Howe", date(2026, 10, 4), time(2, 10), "2026-10-04T02:30:00+11:00"),
        ("Africa/Cairo", date(2026, 4, 24), time(0, 15), "2026-04-24T01:00:00+03:00"),
        ("America/Santiago", date(2026, 9, 6), time(0, 0), "2026-09-06T01:00:00-03:00"),
        ("Antarctica/Troll", date(2026, 3, 29), time(2, 59), "2026-03-29T03:00:00+02:00"),
    ],
)
def test_a_skipped_time_means_the_first_instant_after_the_gap(zone, day, wanted, shown):
    assert in_zone(due_at(day, wanted, zone), zone).isoformat() == shown


@pytest.mark.parametrize(
    ("zone", "day", "wanted", "offset_h"),
    [
        ("America/New_York", date(2026, 11, 1), time(1, 30), -4),
        ("Europe/Berlin", date(2026, 10, 25), time(2, 30), 2),
        ("Australia/Lord_Howe", date(2026, 4, 5), time(1, 45), 11),
        ("Africa/Cairo", date(2026, 10, 29), time(23, 30), 3),
    ],
)
def test_a_time_that_comes_twice_means_the_first(zone, day, wanted, offset_h):
    due = in_zone(due_at(day, wanted, zone), zone)

    assert due.utcoffset() == timedelta(hours=offset_h)
    assert due.time() == wanted


def test_a_day_that_never_was_opens_and_closes_at_one_instant():
    skipped = date(2011, 12, 30)  # Samoa went from the 29th to the 31st

    assert due_at(skipped, time(8), "Pacific/Apia") == day_ends_at(skipped, "Pacific/Apia")


def test_a_choir_on_weekdays_meets_on_them_less_its_days_off():
    meeting = Meeting(pattern=Weekdays(days=frozenset({0, 2, 4})), days_off=frozenset({MONDAY}))

    fortnight = [MONDAY + timedelta(days=n) for n in range(14)]

    met = [day for day in fortnight if meets(meeting, day)]
    assert [day.isoformat()[-2:] for day in met] == ["09", "11", "14", "16", "18"]


def test_an_a_b_rotation_goes_on_after_the_weekend_where_it_stopped():
    meeting = Meeting(pattern=Rotation(length=2, meets_on=frozenset({1}), anchor=MONDAY))

    met = [day for day in (MONDAY + timedelta(days=n) for n in range(14)) if meets(meeting, day)]

    assert [day.isoformat()[-2:] for day in met] == ["07", "09", "11", "15", "17"]


def test_a_day_off_does_not_move_the_cycle_on():
    six_day = Rotation(length=6, meets_on=frozenset({3}), anchor=MONDAY)
    wednesday, thursday = MONDAY + timedelta(days=2), MONDAY + timedelta(days=3)

    assert meets(Meeting(pattern=six_day), wednesday)
    assert not meets(Meeting(pattern=six_day, days_off=frozenset({wednesday})), wednesday)
    assert meets(Meeting(pattern=six_day, days_off=frozenset({wednesday})), thursday)


def slow_cycle_day(length: int, anchor: date, days_off: frozenset[date], day: date) -> int:
    step = 1 if day >= anchor else -1
    place, walked = 0, anchor
    while walked != day:
        counted = walked if step > 0 else walked - timedelta(days=1)
        if counted.weekday() < 5 and counted not in days_off:
            place += step
        walked += timedelta(days=step)
    return place % length + 1


@settings(max_examples=200, deadline=None)
@given(
    length=st.integers(1, 10),
    anchor=st.dates(date(2026, 1, 1), date(2026, 12, 31)),
    offset=st.integers(-120, 120),
    off=st.frozensets(st.integers(-120, 120), max_size=30),
)
def test_the_cycle_counts_school_days_in_both_directions(length, anchor, offset, off):
    days_off = frozenset(anchor + timedelta(days=n) for n in off)
    rotation = Rotation(length=length, meets_on=frozenset({1}), anchor=anchor)
    day = anchor + timedelta(days=offset)

    assert cycle_day(rotation, days_off, day) == slow_cycle_day(length, anchor, days_off, day)


def test_a_choir_that_never_meets_has_no_meetings():
    meeting = Meeting(pattern=Weekdays(days=frozenset()))

    assert list(meetings_from(meeting, MONDAY)) == []


def test_meetings_come_in_order_from_a_first_day():
    meetings = meetings_from(Meeting(pattern=Weekdays(days=frozenset({1}))), MONDAY)

    assert [next(meetings), next(meetings)] == [date(2026, 9, 8), date(2026, 9, 15)]
