"""The desk's pages for paper, school days and the month, over the real service."""

from datetime import date, timedelta

import pytest

from bot.activities.choir import Steps
from tests.chat import house
from tests.fakes.clock import FakeClock
from tests.fakes.drawn import open_services
from tests.service.test_school_days import calendar_of, event
from tests.system.test_access import violations
from tests.system.waiting import pictures

pytestmark = pytest.mark.browser

_CALENDAR = calendar_of(
    event("Thanksgiving break", "20251126", "20251129"),
    event("Picture day", "20251203"),
    event("Every second", "20251203", "", "RRULE:FREQ=SECONDLY"),
)


@pytest.fixture
async def services(tmp_path):
    """Two choirs; the first has a week of lines and a folder for a substitute."""
    async with open_services(tmp_path, FakeClock(house.MONDAY_MORNING)) as found:
        choir = house.a_choir(steps=Steps(pitch="p05", rhythm="r04"))
        first = house.replace(choir, voices=choir.voices[:1], starts_on=date(2025, 11, 20))
        await found.choirs.add(first)
        await found.choirs.add(house.replace(first, id="c2", name="Tenor-Bass Choir"))
        for days in range(4):
            await found.readings.preview("c1", house.MONDAY + timedelta(days=days))
        await found.papers.subs.draw("c1")
        await found.papers.subs.read("c1", 1, was_read=True)
        yield found


async def _upload(page, room) -> None:
    await page.goto(room.url + "desk/choir/c1/days")
    await page.get_by_label("Calendar file").set_input_files(
        {"name": "school.ics", "mimeType": "text/calendar", "buffer": _CALENDAR}
    )
    await page.get_by_role("button", name="Read the calendar").click()
    await page.get_by_text("Which days are without school?").wait_for()


async def test_a_calendar_becomes_days_off_in_three_presses(open_page, room, services):
    page = await open_page()
    await _upload(page, room)
    assert await page.get_by_label("Thanksgiving break").is_checked()
    assert not await page.get_by_label("Picture day").is_checked()

    await page.get_by_label("Picture day").check()
    await page.get_by_label("all choirs").check()
    await page.get_by_role("button", name="Make them days off").click()

    await page.get_by_text("Kept.", exact=False).wait_for()
    for choir in await services.choirs.all():
        assert len(choir.meeting.days_off) == 4


async def test_the_month_shows_the_first_measures_of_each_line(open_page, room):
    page = await open_page(width=1280)
    await page.goto(room.url + "desk/choir/c1/month")
    await pictures(page)

    seen = page.locator(".glimpse")
    assert await seen.count() == 4
    box = await seen.first.bounding_box()
    assert box is not None
    assert box["width"] > 150
    assert box["height"] == pytest.approx(box["width"] * 104 / 360, abs=2)


@pytest.mark.parametrize("path", ["month", "days", "paper"])
async def test_nothing_is_wider_than_the_page(open_page, room, path):
    page = await open_page()
    await page.goto(room.url + f"desk/choir/c1/{path}")
    widths = (360, 1024, 1920)

    found = []
    for width in widths:
        await page.set_viewport_size({"width": width, "height": 800})
        found.append(await page.evaluate("document.documentElement.scrollWidth"))

    assert found == list(widths)


@pytest.mark.parametrize("path", ["month", "days", "paper", ""])
async def test_a_page_has_no_fault_that_axe_core_knows(open_page, room, path):
    page = await open_page(color_scheme="light")
    await page.goto(room.url + f"desk/choir/c1/{path}".rstrip("/"))
    assert await violations(page) == []

    await page.emulate_media(color_scheme="dark")
    assert await violations(page) == []


async def test_events_to_choose_from_have_no_fault_of_access(open_page, room):
    page = await open_page()
    await _upload(page, room)
    assert await violations(page) == []


async def test_a_file_comes_down_under_its_own_name(open_page, room):
    page = await open_page()
    await page.goto(room.url + "desk/choir/c1/paper")

    async with page.expect_download() as coming:
        await page.get_by_role("link", name="Large print, PDF").first.click()

    download = await coming.value
    assert download.suggested_filename == "take-home-2025-11-24-large.pdf"
