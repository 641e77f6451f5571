"""Hearing the line on the board: after a try of one's own, once, and only if it is open."""

from dataclasses import replace

import pytest

from bot.activities.choir import Hearing
from tests.system.test_access import violations
from tests.system.waiting import pictures, until

pytestmark = pytest.mark.browser

SHEET = ".sheet[open] "
PLAYING = "[...document.querySelectorAll('audio')].filter(a => !a.paused).length"


async def on_board(open_page, room, **size):
    page = await open_page(**size)
    await page.goto(room.url)
    await pictures(page)
    return page


def once(page, part=0):
    return page.locator(SHEET + ".hear .once").nth(part)


async def test_the_line_waits_for_a_try_of_ones_own(open_page, room):
    page = await on_board(open_page, room)
    assert not await once(page).is_visible()
    assert await page.evaluate("[...document.querySelectorAll('.hear audio')].every(a => !a.src)")

    await page.locator(SHEET + ".tried").click()

    assert await once(page).is_visible()
    assert not await page.locator(SHEET + ".tried").is_visible()


async def test_the_try_is_remembered_in_this_window_only(open_page, room):
    page = await on_board(open_page, room)
    await page.locator(SHEET + ".tried").click()
    await page.reload()
    assert await once(page).is_visible()
    other = await on_board(open_page, room)
    assert not await once(other).is_visible()


@pytest.mark.parametrize("width", [360, 1280])
async def test_a_line_is_heard_once_with_a_cursor_in_the_picture(open_page, room, width):
    page = await on_board(open_page, room, width=width)
    await page.locator(SHEET + ".tried").click()
    before = await page.locator(SHEET + ".leaf > .music").bounding_box()

    await once(page).click()

    await page.wait_for_selector(SHEET + ".music .cursor", state="attached")
    during = await page.locator(SHEET + ".leaf > .music").bounding_box()
    assert during["height"] == pytest.approx(before["height"], abs=2)
    await until(page, "document.querySelector('.sheet[open] .hear .once').disabled")
    assert "Heard once." in await page.locator(SHEET + ".hear .told").inner_text()
    assert await page.locator(SHEET + ".leaf > .music img").is_visible()
    assert await page.locator(SHEET + ".cursor").count() == 0
    assert await once(page, 1).is_enabled()


async def test_a_line_that_the_director_has_not_opened_stays_shut(open_page, services, room):
    services.readings.shut = True
    page = await on_board(open_page, room)
    await page.locator(SHEET + ".tried").click()
    await once(page).click()
    told = "document.querySelector('.sheet[open] .hear .told').textContent"
    await until(page, f"{told} === 'It opens when the class has read it.'")
    assert await page.evaluate(PLAYING) == 0

    services.readings.shut = False
    await once(page).click()
    await until(page, f"{PLAYING} === 1")
    assert await page.evaluate(told) == ""


async def test_a_choir_that_hears_no_lines_is_offered_none(open_page, services, room):
    services.choirs.kept["c1"] = replace(services.choirs.kept["c1"], hearing=Hearing.NEVER)
    page = await on_board(open_page, room)
    assert await page.locator(".hear").count() == 0


async def test_without_scripts_there_is_no_button_that_does_nothing(open_page, room):
    page = await open_page(java_script_enabled=False)
    await page.goto(room.url)
    assert not await page.locator(SHEET + ".hear").is_visible()


async def test_a_part_alone_can_be_heard_at_home(open_page, room):
    page = await open_page(width=360)
    await page.goto(room.url + "reading/c1-20251124/part/2")
    await page.locator(".tried").click()
    await page.locator(".once").click()
    await until(page, "document.querySelector('.hear .once').disabled")
    assert await page.locator(".once").count() == 1


async def test_the_key_and_the_line_never_sound_together(open_page, room):
    page = await on_board(open_page, room)
    await page.locator(SHEET + ".tried").click()
    await once(page).click()
    await until(page, f"{PLAYING} === 1")
    await page.get_by_role("button", name="Hear the key Part I", exact=True).click()
    assert await page.evaluate(PLAYING) <= 1


@pytest.mark.parametrize("scheme", ["light", "dark"])
async def test_hearing_has_no_fault_that_axe_core_knows(open_page, room, scheme):
    page = await open_page(color_scheme=scheme)
    await page.goto(room.url)
    await page.locator(SHEET + ".tried").click()
    assert await violations(page) == []


async def test_the_desk_opens_a_line_for_hearing(open_page, services, room):
    page = await open_page()
    await page.goto(room.url + "desk/choir/c1")
    await page.get_by_role("button", name="Open it for hearing").first.click()
    await page.get_by_text("The class may hear that line now.").wait_for()
    assert services.lesson.opened == {"c1-20251124"}
