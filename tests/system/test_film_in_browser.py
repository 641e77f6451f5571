"""The film's page and the mystery tune as a singer meets them: a small phone, keys alone."""

from dataclasses import replace

import pytest

from bot.activities.choir import Steps
from tests.chat.seated_room import room, slips, visit, world
from tests.service.seated import rows_of
from tests.system.test_every_page import faults_of, sit

pytestmark = pytest.mark.browser
__all__ = ["room", "slips", "visit", "world"]

_IN_SIGHT = """selector => {
  const box = document.querySelector(selector).getBoundingClientRect();
  return box.top >= 0 && box.bottom <= innerHeight;
}"""


async def press_to(page, name, *, most=60):
    """Go on by Tab until what has the focus is called so, then press it."""
    for _ in range(most):
        await page.keyboard.press("Tab")
        said = await page.evaluate(
            "(e => e.getAttribute('aria-label') ?? e.innerText)(document.activeElement)"
        )
        if said == name:
            await page.keyboard.press("Enter")
            return
    raise AssertionError(f"no way to {name} by Tab")


async def test_how_far_it_was_held_is_told_by_keys_alone(open_page, world, room, slips):
    page = await open_page(width=360, height=740, reduced_motion="reduce")
    await sit(page, room, slips[0].code)
    await press_to(page, "Sang with the film? Say how far you held the line")
    await page.wait_for_url("**/film")
    assert await page.evaluate("document.querySelector('video').paused")
    assert await faults_of(page, widths=(1280, 360)) == []
    boxes = [await one.bounding_box() for one in await page.locator(".measures button").all()]
    assert min(box["width"] for box in boxes) >= 36, "wide enough for a thumb"
    assert min(box["height"] for box in boxes) >= 44
    third = await page.locator(".measures button").nth(2).get_attribute("aria-label")
    assert third.endswith(": 3 beats")

    await press_to(page, third)
    await page.wait_for_url("**/film?done=told#held")
    assert await page.get_by_role("status").inner_text() == "Kept."
    assert await page.evaluate(_IN_SIGHT, ".done")
    assert await page.locator(".measures .sung").count() == 3
    await page.emulate_media(color_scheme="dark")
    assert await faults_of(page, widths=(1280, 360)) == []

    await press_to(page, "Leave it out")
    await page.wait_for_url("**/film?done=back#held")
    assert await rows_of(world.database, "home_spans") == []


@pytest.mark.long
async def test_a_name_that_was_tried_is_answered_where_one_looks(open_page, world, room, slips):
    choir = await world.services.choirs.get("choir-1")
    await world.services.choirs.change(replace(choir, steps=Steps(pitch="p14", rhythm="r11")))
    await world.services.play.mysteries.begin("choir-1")
    page = await open_page(width=360, height=740, reduced_motion="reduce")
    await page.goto(room.url + "choir/choir-1/tune")
    assert await faults_of(page, widths=(1280, 360)) == []
    for number in range(4):
        await page.locator(".names button").nth(number).focus()
        async with page.expect_navigation():
            await page.keyboard.press("Enter")
        assert await page.evaluate(_IN_SIGHT, "#ask")
        if (await page.locator("#ask").inner_text()).lower().startswith("that is it"):
            break
        assert await page.evaluate(_IN_SIGHT, ".said")
        assert await page.locator(".tried").count() == 1
    else:
        raise AssertionError("no name was right")
    assert await faults_of(page, widths=(1280, 360)) == []
