"""Every page that the room has, by whichever family: axe-core, and nothing wider than the page."""

from typing import Any

import pytest

from tests.chat.seated_room import room, slips, visit, world
from tests.chat.test_room_attacks import a_reading, addresses
from tests.system.test_access import violations

pytestmark = pytest.mark.browser
__all__ = ["room", "slips", "visit", "world"]

WIDTHS = (360, 1024, 1920)
UNFOLD = "document.querySelectorAll('details').forEach(d => { d.open = true })"


async def sit(page: Any, room: Any, code: str) -> None:
    """Take a seat by its code."""
    await page.goto(room.url + "seat")
    await page.get_by_label("Code on the slip").fill(code)
    await page.get_by_role("button", name="Sit down").click()
    await page.get_by_role("heading", name="I read it").wait_for()


async def faults_of(page: Any, *, widths: tuple[int, ...] = WIDTHS) -> list[str]:
    """What axe-core finds, and every width at which the page is wider than its window."""
    await page.evaluate(UNFOLD)
    found = await violations(page)
    for width in widths:
        await page.set_viewport_size({"width": width, "height": 900})
        wide = await page.evaluate("document.documentElement.scrollWidth")
        if wide > width:
            found.append(f"{wide} px wide at {width}")
    return found


@pytest.mark.parametrize("scheme", ["light", "dark"])
async def test_a_singers_pages_have_no_fault(open_page, room, slips, scheme):
    page = await open_page(width=360, color_scheme=scheme)
    await sit(page, room, slips[0].code)
    assert await faults_of(page) == []
    await page.locator(".went").first.get_by_role("button", name="Bumpy").click()
    await page.get_by_text("Marked.").wait_for()
    assert await faults_of(page) == []

    await page.get_by_role("link", name="My data").click()
    await page.get_by_role("heading", name="All that is kept about seat 1").wait_for()
    assert await faults_of(page) == []

    await page.get_by_role("button", name="Forget my seat").click()
    await page.get_by_role("alert").wait_for()
    assert await faults_of(page) == []


async def test_a_week_with_a_pin_and_another_step_has_no_fault(open_page, room, slips):
    page = await open_page(width=360)
    await page.goto(room.url + "desk/choir/choir-1")
    await page.get_by_role("button", name="Pin the line of Tuesday, September 15").click()
    await page.get_by_text("The line is pinned to its day.").wait_for()
    await page.evaluate(UNFOLD)
    await (
        page.locator("#day-2026-09-16").get_by_role("button", name="Draw it at these steps").click()
    )
    await page.get_by_text("There is a line at those steps").wait_for()
    assert await faults_of(page) == []


@pytest.mark.long
@pytest.mark.parametrize("scheme", ["light", "dark"])
async def test_no_page_of_the_room_has_a_fault(open_page, world, room, slips, scheme):
    page = await open_page(color_scheme=scheme)
    await sit(page, room, slips[0].code)
    found, looked = {}, 0
    for path in addresses(room, "GET", await a_reading(world)):
        if path.startswith("/stage"):
            continue  # it draws into real pictures: tests/system/test_stage_look_in_browser.py
        answer = await page.request.head(room.url.rstrip("/") + path, max_redirects=0)
        if not answer.headers.get("content-type", "").startswith("text/html"):
            continue
        if "content-disposition" in answer.headers:
            continue
        await page.goto(room.url.rstrip("/") + path)
        looked += 1
        if faults := await faults_of(page):
            found[path] = faults
    assert looked > 25
    assert found == {}, "\n".join(f"{path}: {faults}" for path, faults in found.items())
