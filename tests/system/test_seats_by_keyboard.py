"""What a singer and a director do about seats and days, with a keyboard and nothing else."""

import pytest

from tests.chat.seated_room import room, slips, visit, world

pytestmark = pytest.mark.browser
__all__ = ["room", "slips", "visit", "world"]

FOCUSED = (
    "(document.activeElement.getAttribute('aria-label') || document.activeElement.innerText"
    " || document.activeElement.id || '').trim()"
)


async def tab_to(page, name: str, most: int = 120) -> None:
    """Press Tab until what has the focus is called so."""
    seen = []
    for _ in range(most):
        await page.keyboard.press("Tab")
        seen.append(await page.evaluate(FOCUSED))
        if seen[-1] == name:
            return
    raise AssertionError(f"{name!r} is not reached: {seen}")


async def test_a_singer_sits_down_taps_looks_and_forgets_by_keyboard(open_page, room, slips):
    page = await open_page(width=360)
    await page.goto(room.url + "seat")
    await tab_to(page, "code")
    await page.keyboard.type(slips[0].code)
    await page.keyboard.press("Enter")
    await page.get_by_role("heading", name="I read it").wait_for()

    await tab_to(page, "Steady")
    await page.keyboard.press("Enter")
    await page.get_by_text("Marked.").wait_for()
    await tab_to(page, "Say it differently")
    await page.keyboard.press("Enter")
    await tab_to(page, "Bumpy")
    await page.keyboard.press("Enter")
    await page.get_by_text("You said: bumpy.").wait_for()

    await tab_to(page, "My data")
    await page.keyboard.press("Enter")
    await page.get_by_role("heading", name="All that is kept about seat 1").wait_for()
    await tab_to(page, "Forget my seat")
    await page.keyboard.press("Enter")
    await page.get_by_role("alert").wait_for()
    await tab_to(page, "Yes, forget it")
    await page.keyboard.press("Enter")
    await page.get_by_role("heading", name="Take your seat").wait_for()


async def skip(page) -> None:
    """Press the link past the head, and see that it leads nowhere else."""
    where = page.url
    await page.evaluate("document.activeElement.blur()")
    await tab_to(page, "Skip to the page", most=1)
    await page.keyboard.press("Enter")
    await page.wait_for_url(where.partition("#")[0] + "#main")
    await page.wait_for_timeout(100)
    assert page.url == where.partition("#")[0] + "#main"


async def test_the_link_past_the_head_is_no_code_and_a_lost_network_is_told(open_page, room, slips):
    singer = await open_page(width=360)
    await singer.goto(room.url + "seat")
    await skip(singer)
    assert await singer.locator("#code").input_value() == ""
    await singer.locator("#code").fill(slips[0].code)
    await singer.get_by_role("button", name="Sit down").click()
    await singer.get_by_role("heading", name="I read it").wait_for()
    await skip(singer)
    assert await singer.get_by_role("heading", name="I read it").is_visible()

    # Without a network a tap stays on the page, which says so.
    await singer.context.set_offline(True)
    await singer.get_by_role("button", name="Steady").click()
    await singer.get_by_role("alert").filter(has_text="The network is away.").wait_for()

    director = await open_page()
    await director.goto(room.url + "desk/choir/choir-1/seats")
    await director.get_by_role("button", name="New slip for seat 2").click()
    await director.locator(".slip").wait_for()
    await skip(director)
    assert await director.locator(".slip-code").is_visible()


async def test_a_director_makes_slips_pins_and_swaps_by_keyboard(open_page, room, slips):
    page = await open_page()
    await page.goto(room.url + "desk/choir/choir-1/seats")
    await tab_to(page, "New slip for seat 2")
    await page.keyboard.press("Enter")
    await page.locator(".slip").wait_for()

    await page.goto(room.url + "desk/choir/choir-1")
    await tab_to(page, "Pin the line of Tuesday, September 15")
    await page.keyboard.press("Enter")
    await page.get_by_text("The line is pinned to its day.").wait_for()
    await tab_to(page, "Another step on Wednesday, September 16")
    await page.keyboard.press("Enter")
    await tab_to(page, "Draw it at these steps")
    await page.keyboard.press("Enter")
    await page.get_by_text("There is a line at those steps").wait_for()
