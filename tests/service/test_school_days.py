"""Days off out of a calendar file: what is ticked, what is left out, what is taken over."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from bot.activities.calendar import Meeting, Rotation
from bot.errors import InputProblems, Refused
from bot.service.school_days import chosen_days, offer_days, take_days_off
from tests.fakes.choirs import MONDAY, a_choir
from tests.fakes.clock import FakeClock
from tests.fakes.world import SIX, content, open_world

_SAY = content().wording


def calendar_of(*events: str) -> bytes:
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//school//calendar//EN", *events]
    return "\r\n".join([*lines, "END:VCALENDAR", ""]).encode()


def event(title: str, first: str, last: str = "", *more: str) -> str:
    """An event that lasts all day; `last` is the day after it, as the format has it."""
    end = [f"DTEND;VALUE=DATE:{last}"] if last else []
    lines = ["BEGIN:VEVENT", f"UID:{title}-{first}", f"DTSTART;VALUE=DATE:{first}", *end, *more]
    return "\r\n".join([*lines, f"SUMMARY:{title}", "END:VEVENT"])


def _offer(*events, choir=None):
    return offer_days(calendar_of(*events), "school.ics", choir or a_choir(), MONDAY, _SAY)


@pytest.mark.parametrize(
    ("title", "ticked"),
    [
        ("No School", True),
        ("Winter Break", True),
        ("LABOR DAY - schools closed", True),
        ("Teacher Workday", True),
        ("Breakfast for the band", False),
        ("Choir concert", False),
        ("End of quarter", False),
    ],
)
def test_what_its_title_calls_a_day_without_school_is_ticked(title, ticked):
    (offered,) = _offer(event(title, "20261012")).events
    assert offered.ticked is ticked


def test_an_evening_is_never_ticked_whatever_it_is_called():
    concert = "BEGIN:VEVENT\r\nUID:1\r\nDTSTART:20261211T190000\r\nDTEND:20261211T200000\r\n" + (
        "SUMMARY:Holiday concert\r\nEND:VEVENT"
    )
    (offered,) = _offer(concert).events
    assert not offered.ticked


def test_events_come_in_order_from_a_fortnight_back_to_a_year_ahead():
    offer = _offer(
        event("Spring break", "20270315", "20270320"),
        event("Labor day", "20260907"),
        event("Long ago", "20260810"),
        event("Years ahead", "20281001"),
    )

    assert [each.title for each in offer.events] == ["Labor day", "Spring break"]
    assert offer.events[1].count == 5
    assert offer.events[1].spans == "2027-03-15 to 2027-03-19"


def test_what_comes_back_all_the_time_is_no_day_off():
    offer = _offer(
        event("A day", "20260914", "", "RRULE:FREQ=WEEKLY;BYDAY=MO,WE;COUNT=60"),
        event("No school", "20261012"),
    )

    assert [each.title for each in offer.events] == ["No school"]
    assert offer.left_out == 1


def test_a_long_list_keeps_the_ticked_ones():
    day = date(2026, 9, 15)
    many = [event(f"Game {n}", f"{day + timedelta(days=n % 300):%Y%m%d}") for n in range(400)]

    offer = _offer(*many, event("No school", "20270601"))

    assert len(offer.events) == 250
    assert offer.events[-1].title == "No school"
    assert offer.left_out == 151


def test_one_bad_entry_does_not_cost_the_rest():
    offer = _offer(
        event("Every second", "20260914", "", "RRULE:FREQ=SECONDLY"), event("No school", "20261012")
    )

    assert [each.title for each in offer.events] == ["No school"]
    assert len(offer.passed_over) == 1
    assert "Every second" in offer.passed_over[0]


def test_days_that_are_off_already_are_told_apart():
    meeting = replace(a_choir().meeting, days_off=frozenset({date(2026, 10, 12)}))
    offer = _offer(
        event("No school", "20261012"),
        event("Break", "20261012", "20261014"),
        choir=a_choir(meeting=meeting),
    )

    assert {each.title: each.off for each in offer.events} == {"No school": True, "Break": False}


def test_what_the_form_sends_back_is_read_as_days():
    days = chosen_days(["2026-10-12", "2026-11-26 to 2026-11-27;2026-12-01"], _SAY)

    assert days == {date(2026, 10, 12), date(2026, 11, 26), date(2026, 11, 27), date(2026, 12, 1)}


@pytest.mark.parametrize("sent", [[], [""], ["tomorrow"], ["2026-10-12; or 1=1"], ["2026-13-01"]])
def test_anything_else_is_refused(sent):
    with pytest.raises(InputProblems):
        chosen_days(sent, _SAY)


async def test_days_join_those_of_every_choir_or_of_none(tmp_path):
    days = frozenset({date(2026, 10, 12)})
    rotation = Rotation(length=2, meets_on=frozenset({1}), anchor=date(2026, 10, 12))
    async with open_world(tmp_path, FakeClock(SIX)) as world:
        choirs = world.services.choirs
        before = replace(a_choir().meeting, days_off=frozenset({date(2026, 9, 21)}))
        await choirs.add(a_choir("one", meeting=before))
        await choirs.add(a_choir("two"))
        await take_days_off(choirs, await choirs.all(), days)
        taken = [choir.meeting.days_off for choir in await choirs.all()]
        await choirs.add(a_choir("three", meeting=Meeting(pattern=rotation)))

        with pytest.raises(Refused) as refused:
            await take_days_off(choirs, await choirs.all(), days | {date(2026, 10, 13)})
        after = [choir.meeting.days_off for choir in await choirs.all()]

    assert taken == [days | {date(2026, 9, 21)}, days]
    assert refused.value.key == "calendar.anchor"
    assert after == [*taken, frozenset()]


async def test_a_missed_day_that_turns_out_to_be_off_is_missed_no_more(tmp_path):
    async with open_world(tmp_path, FakeClock(SIX)) as world:
        await world.services.choirs.add(a_choir())
        world.clock.set(SIX + timedelta(days=1))
        await world.assembly.scheduler.round()
        before = (await world.services.status()).choirs[0].missed

        choirs = world.services.choirs
        await take_days_off(choirs, await choirs.all(), frozenset({MONDAY}))

        assert before == (MONDAY,)
        assert (await world.services.status()).choirs[0].missed == ()
