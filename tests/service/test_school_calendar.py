"""A school's calendar file is read for days, on a short leash."""

from __future__ import annotations

import time
from datetime import date

import pytest

from bot.errors import InputProblems
from bot.service.school_calendar import MOST_EVENTS, SchoolCalendar, read_calendar

FIRST, LAST = date(2026, 8, 1), date(2027, 7, 31)


def calendar(*events: str) -> bytes:
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//Nobody//Test//EN"]
    for number, event in enumerate(events):
        lines += ["BEGIN:VEVENT", f"UID:{number}@example.org", *event.splitlines(), "END:VEVENT"]
    return "\r\n".join([*lines, "END:VCALENDAR", ""]).encode()


def read(
    *events: str, first: date = FIRST, last: date = LAST, zone: str = "America/New_York"
) -> SchoolCalendar:
    return read_calendar(calendar(*events), "school.ics", first=first, last=last, zone=zone)


def days(*events: str, first: date = FIRST, last: date = LAST) -> list[date]:
    (event,) = read(*events, first=first, last=last).events
    return list(event.days)


def test_a_holiday_of_two_days_ends_before_its_dtend():
    found = read("SUMMARY:Thanksgiving\nDTSTART;VALUE=DATE:20261126\nDTEND;VALUE=DATE:20261128")

    (event,) = found.events
    assert event.title == "Thanksgiving"
    assert event.days == (date(2026, 11, 26), date(2026, 11, 27))
    assert event.all_day


def test_an_evening_that_ends_at_midnight_is_one_day_in_the_choirs_zone():
    (event,) = read("SUMMARY:Concert\nDTSTART:20261211T000000Z\nDTEND:20261211T050000Z").events

    assert event.days == (date(2026, 12, 10),)
    assert not event.all_day


def test_exceptions_and_moved_occurrences_leave_their_days():
    found = read(
        "DTSTART;VALUE=DATE:20260907\nRRULE:FREQ=WEEKLY;COUNT=4\nEXDATE;VALUE=DATE:20260914",
    )
    moved = read_calendar(
        calendar(
            "DTSTART;VALUE=DATE:20260907\nRRULE:FREQ=WEEKLY;COUNT=2",
            "DTSTART;VALUE=DATE:20260916\nRECURRENCE-ID;VALUE=DATE:20260914",
        ).replace(b"UID:1@", b"UID:0@"),
        "school.ics",
        first=FIRST,
        last=LAST,
        zone="UTC",
    )

    assert found.events[0].days == (date(2026, 9, 7), date(2026, 9, 21), date(2026, 9, 28))
    assert [event.days for event in moved.events] == [
        (date(2026, 9, 7),),
        (date(2026, 9, 16),),
    ]


def test_a_rule_without_an_end_stays_within_the_year():
    found = days("DTSTART;VALUE=DATE:20250903\nRRULE:FREQ=WEEKLY")

    assert found[0] >= FIRST
    assert found[-1] <= LAST
    assert len(found) == 52


@pytest.mark.parametrize(
    "rule",
    [
        "RRULE:FREQ=SECONDLY",
        "RRULE:FREQ=MINUTELY;INTERVAL=2",
        "RRULE:FREQ=HOURLY;COUNT=3",
        "RRULE:FREQ=DAILY;BYHOUR=1,2,3",
    ],
)
def test_a_rule_that_comes_more_than_once_a_day_is_passed_over_by_name(rule: str):
    found = read(
        f"SUMMARY:Bell\nDTSTART:20260901T080000\n{rule}",
        "SUMMARY:Labor Day\nDTSTART;VALUE=DATE:20260907",
    )

    assert [event.title for event in found.events] == ["Labor Day"]
    assert "Bell" in found.passed_over[0].place


@pytest.mark.parametrize(
    "rule",
    [
        "RRULE:FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=30",
        "RRULE:FREQ=DAILY;COUNT=2000000000",
        "RRULE:FREQ=DAILY;BYMONTH=2;BYMONTHDAY=30",
    ],
)
def test_a_rule_that_never_comes_or_never_ends_costs_no_time(rule: str):
    began = time.process_time()

    read(f"DTSTART;VALUE=DATE:20000101\n{rule}")

    assert time.process_time() - began < 5


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"<html>",
        b"\xff\xfe\x00",
        b"BEGIN:VCALENDAR",
        b"x" * (2**20 + 1),
        calendar(*["DTSTART;VALUE=DATE:20260901"] * (MOST_EVENTS + 1)),
    ],
)
def test_what_is_no_calendar_or_too_large_is_refused_in_a_sentence(data: bytes):
    with pytest.raises(InputProblems, match=r"school\.ics"):
        read_calendar(data, "school.ics", first=FIRST, last=LAST, zone="UTC")


def test_a_broken_event_does_not_cost_the_others():
    found = read(
        "SUMMARY:No start",
        "SUMMARY:Backwards\nDTSTART;VALUE=DATE:20260901\nDTEND;VALUE=DATE:20280901",
        "SUMMARY:Fine\nDTSTART;VALUE=DATE:20260902",
    )

    assert [event.title for event in found.events] == ["Fine"]
    assert len(found.passed_over) == 2
