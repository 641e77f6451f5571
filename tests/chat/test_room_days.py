"""School days and the month at the desk, over the real service."""

import io
from datetime import date, timedelta

import pytest
from aiohttp import FormData

from tests.chat import house
from tests.fakes.clock import FakeClock
from tests.fakes.drawn import open_services
from tests.service.test_school_days import calendar_of, event

_CALENDAR = calendar_of(
    event("Thanksgiving <b>break</b>", "20251126", "20251129"),
    event("Picture day", "20251203"),
)


@pytest.fixture
async def services(tmp_path):
    async with open_services(tmp_path, FakeClock(house.MONDAY_MORNING)) as found:
        choir = house.a_choir()
        await found.choirs.add(house.replace(choir, voices=choir.voices[:1]))
        yield found


async def _text(response, status=200) -> str:
    text = await response.text()
    assert response.status == status, text
    return text


def _file(data: bytes, name: str = "school.ics") -> FormData:
    form = FormData()
    form.add_field("file", io.BytesIO(data), filename=name, content_type="text/calendar")
    return form


async def test_a_calendar_is_read_and_its_days_are_to_be_ticked(visitor):
    page = await _text(await visitor.post("/desk/choir/c1/days", _file(_CALENDAR)))

    assert 'value="2025-11-26 to 2025-11-28" checked' in page
    assert 'value="2025-12-03">' in page
    assert "&lt;b&gt;break&lt;/b&gt;" in page
    assert "Nov 26 to Nov 28, 3 days" in page


async def test_ticked_days_become_days_off_of_this_choir_alone(visitor, services):
    await services.choirs.add(house.a_choir("c2", "Other"))
    days = frozenset(date(2025, 11, 26) + timedelta(days=n) for n in range(3))

    response = await visitor.post(
        "/desk/choir/c1/days/take", {"days": "2025-11-26 to 2025-11-28", "for": "this"}
    )

    assert response.headers["Location"] == "/desk/choir/c1?done=saved"
    assert (await services.choirs.get("c1")).meeting.days_off == days
    assert (await services.choirs.get("c2")).meeting.days_off == frozenset()
    page = await _text(await visitor.get("/desk/choir/c1/days"))
    assert "Days off to come: Nov 26 to Nov 28." in page


async def test_or_of_all_choirs(visitor, services):
    await services.choirs.add(house.a_choir("c2", "Other"))

    await visitor.post("/desk/choir/c1/days/take", {"days": "2025-11-26", "for": "all"})

    for choir in await services.choirs.all():
        assert choir.meeting.days_off == {date(2025, 11, 26)}


_DEEP = b"BEGIN:VCALENDAR\r\n" + b"BEGIN:VEVENT\r\n" * 2000


@pytest.mark.parametrize(
    ("data", "told"),
    [
        (b"", "no iCalendar file"),
        (b"\x00\xff\xfe nonsense", "no iCalendar file"),
        (b"<script>alert(1)</script>", "no iCalendar file"),
        (_DEEP, "no iCalendar file"),
        (calendar_of() + b" " * (2**20), "1,048,"),
        (b"x" * (3 * 2**20), "larger than 1 MB"),
        (calendar_of(*[event(f"E{n}", "20251203") for n in range(4001)]), "4,001 events"),
    ],
    ids=["empty", "bytes", "page", "unclosed", "spaces", "huge", "many"],
)
async def test_a_hostile_file_is_one_sentence_beside_the_field(visitor, services, data, told):
    page = await _text(await visitor.post("/desk/choir/c1/days", _file(data, "<x>.ics")), 422)

    assert told in page
    assert "<x>" not in page
    assert "<script>alert" not in page
    assert (await services.choirs.get("c1")).meeting.days_off == frozenset()


async def test_an_endless_rule_and_one_by_the_second_cost_nothing(visitor):
    data = calendar_of(
        event("For ever", "19950101", "", "RRULE:FREQ=DAILY"),
        event("Ticking", "20251203", "", "RRULE:FREQ=SECONDLY;INTERVAL=1"),
        event("No school", "20251210"),
    )

    page = await _text(await visitor.post("/desk/choir/c1/days", _file(data)))

    assert 'value="2025-12-10" checked' in page
    assert "Ticking" in page.split("could not be read")[1]


@pytest.mark.parametrize("form", [{}, {"days": "never"}, {"days": "2025-01-01 to 2029-01-01"}])
async def test_a_form_that_was_made_up_changes_nothing(visitor, services, form):
    page = await _text(await visitor.post("/desk/choir/c1/days/take", form), 422)

    assert 'role="alert"' in page
    assert (await services.choirs.get("c1")).meeting.days_off == frozenset()


async def test_no_file_is_said(visitor):
    assert "No file was chosen." in await _text(
        await visitor.post("/desk/choir/c1/days", _file(b"", "")), 422
    )


async def test_the_month_shows_every_day_with_its_mark_and_its_first_measures(visitor, services):
    await services.readings.preview("c1", date(2025, 11, 25))
    await visitor.post("/desk/choir/c1/days/take", {"days": "2025-11-27 to 2025-11-28"})

    page = await _text(await visitor.get("/desk/choir/c1/month"))

    assert "November 2025" in page
    assert page.count('class="month-week"') == 5
    assert 'src="/desk/choir/c1/day/2025-11-25/phone.svg"' in page
    assert page.count("Off.") == 2
    assert '<li class="month-day planned today">' in page
    assert 'href="?of=2025-12"' in page


@pytest.mark.parametrize("of", ["2025-13", "soon", "9999-01", "0001-01", ""])
async def test_a_month_that_is_none_is_not_there(visitor, of):
    assert (await visitor.get(f"/desk/choir/c1/month?of={of}")).status == 404


async def test_the_calendar_and_the_month_are_behind_the_desks_lock(visitor, services):
    await services.desk.set_passphrase(house.PASSPHRASE)
    assert (await visitor.get("/desk/choir/c1/days")).status == 401
    assert (await visitor.get("/desk/choir/c1/month")).status == 401
