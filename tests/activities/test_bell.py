"""Whose lesson it is at a moment of the day."""

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.activities.bell import (
    EARLY,
    bell_on,
    bell_today,
    by_bell,
    choir_in_the_room,
    posting_on,
)
from bot.activities.calendar import ShortDay, due_at
from bot.activities.plan import planned
from tests.fakes.choirs import a_choir

MIDNIGHT = datetime(2026, 9, 15, 4, 0, tzinfo=UTC)  # a Tuesday in New York
YEARS = datetime(2020, 1, 1, tzinfo=UTC)
FIRST = a_choir("first", post_at=time(6), bell_at=time(8))
THIRD = a_choir("third", post_at=time(10, 30))
SIXTH = a_choir("sixth", post_at=time(7), bell_at=time(13, 15))
ALL = (SIXTH, FIRST, THIRD)


def at(hour, minute=0):
    return MIDNIGHT + timedelta(hours=hour, minutes=minute)


@pytest.mark.parametrize(
    ("moment", "choir"),
    [
        (at(5), FIRST),  # before the first bell
        (at(8, 40), FIRST),
        (at(10, 19), FIRST),
        (at(10, 20), THIRD),  # ten minutes before its bell
        (at(13), THIRD),
        (at(13, 6), SIXTH),
        (at(23, 30), SIXTH),
    ],
)
def test_the_stage_opens_on_the_lesson_that_is_on_or_about_to_begin(moment, choir):
    assert choir_in_the_room(ALL, moment) is choir


def test_the_bell_is_when_the_line_goes_up_unless_another_time_is_set():
    assert bell_today(THIRD, at(9)) == at(10, 30)
    assert bell_today(FIRST, at(9)) == at(8)


def test_a_choir_that_does_not_meet_today_comes_last():
    off = replace(FIRST, meeting=replace(FIRST.meeting, days_off=frozenset({date(2026, 9, 15)})))
    assert bell_today(off, at(8)) is None
    assert [choir.id for choir in by_bell((SIXTH, off, THIRD), at(8))] == [
        "third",
        "sixth",
        "first",
    ]
    assert choir_in_the_room((off, SIXTH), at(8)) is SIXTH
    assert choir_in_the_room((off,), at(8)) is off


def test_without_a_choir_there_is_none():
    assert choir_in_the_room((), at(8)) is None


@given(
    st.lists(st.times(), min_size=1, max_size=6),
    st.integers(0, 15 * 365 * 24 * 60).map(lambda n: YEARS + timedelta(minutes=n)),
    st.sampled_from(["America/New_York", "Europe/Berlin", "Australia/Lord_Howe"]),
)
def test_a_bell_that_rang_later_is_never_passed_over(times, now, zone):
    choirs = [
        a_choir(str(n), bell_at=bell, zone=zone, starts_on=date(2019, 1, 1))
        for n, bell in enumerate(times)
    ]
    found = choir_in_the_room(choirs, now)
    bells = [bell for choir in choirs if (bell := bell_today(choir, now))]
    begun = [bell for bell in bells if bell <= now + EARLY]
    if bells:
        assert bell_today(found, now) == (max(begun) if begun else min(bells))


@pytest.mark.parametrize(
    ("post_at", "bell_at", "other", "posted"),
    [
        (time(13), None, time(10, 40), time(10, 40)),  # the line comes with the bell
        (time(7), time(13), time(10, 40), time(7)),  # it is up long before
        (time(12, 55), time(13), time(10, 40), time(10, 40)),  # up by the earlier bell
        (time(16), time(13), time(10, 40), time(16)),  # it comes after the lesson
        (time(8), None, time(10), time(10)),  # the school opens late
        (time(7), time(8), time(10), time(7)),
    ],
)
def test_on_a_short_day_the_line_is_up_by_the_other_bell(post_at, bell_at, other, posted):
    on = date(2026, 9, 15)
    usual = a_choir(post_at=post_at, bell_at=bell_at)
    meeting = replace(usual.meeting, short_days=frozenset({ShortDay(on=on, bell_at=other)}))
    choir = replace(usual, meeting=meeting)

    assert bell_on(choir, on) == other
    assert bell_today(choir, at(5)) == due_at(on, other, choir.zone)
    assert posting_on(choir, on) == posted
    assert planned(choir, on).due == due_at(on, posted, choir.zone)
    for day in (on - timedelta(days=1), on + timedelta(days=1)):
        assert (bell_on(choir, day), posting_on(choir, day)) == (bell_at or post_at, post_at)


def test_a_day_off_stays_off_whatever_its_bell():
    on = date(2026, 9, 15)
    meeting = replace(
        FIRST.meeting,
        days_off=frozenset({on}),
        short_days=frozenset({ShortDay(on=on, bell_at=time(9))}),
    )
    assert bell_today(replace(FIRST, meeting=meeting), at(5)) is None


def test_on_a_short_day_the_stage_follows_the_other_bells():
    on = date(2026, 9, 15)

    def short(choir, bell):
        day = frozenset({ShortDay(on=on, bell_at=bell)})
        return replace(choir, meeting=replace(choir.meeting, short_days=day))

    today = (short(FIRST, time(8)), short(SIXTH, time(9)), short(THIRD, time(10)))
    assert choir_in_the_room(today, at(9, 5)).id == "sixth"
    assert choir_in_the_room(today, at(10, 5)).id == "third"
