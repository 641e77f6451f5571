"""Stories at the desk in a browser: no fault of access, nothing wider than the window, mended."""

import pytest

from bot.service.content import load_content
from tests.chat import house
from tests.fakes.world import CONTENT
from tests.system.test_access import violations

pytestmark = pytest.mark.browser


@pytest.fixture
async def own_room(open_room, tmp_path):
    """A room whose director has a folder of the own, with a broken story in it."""
    content = load_content([CONTENT, tmp_path])
    text = content.stories["lost-tuesday"].read_text("utf-8")
    content.stories.keep("broken", text.replace('next = "clock"', 'next = "clok"', 1))
    return await open_room(house.services_of(content, house.a_choir()))


@pytest.mark.parametrize("scheme", ["light", "dark"])
async def test_shelf_and_story_have_no_fault_that_axe_core_knows(open_page, own_room, scheme):
    page = await open_page(color_scheme=scheme)
    for path in ("desk/stories", "desk/stories/broken", "desk/stories/nine-bells"):
        await page.goto(own_room.url + path)
        await page.evaluate("document.querySelectorAll('details').forEach(d => { d.open = true })")
        assert await violations(page) == []


@pytest.mark.parametrize("width", [360, 768, 1280])
async def test_a_fault_is_found_by_its_line_and_mended(open_page, own_room, width):
    page = await open_page(width=width)
    await page.goto(own_room.url + "desk/stories/broken")
    first = page.locator(".story-found a").first
    assert "which is no scene" in await page.locator(".story-found").inner_text()
    line = (await first.get_attribute("href")).removeprefix("#")
    await first.click()
    assert await page.locator(f"#{line}.faulty .trouble").is_visible()
    assert await page.evaluate("document.documentElement.scrollWidth") <= width

    text = await page.locator("#text").input_value()
    await page.fill("#text", text.replace("clok", "clock"))
    await page.get_by_role("button", name="Keep and check").click()

    await page.get_by_text("The story is sound.").wait_for()
    assert await page.locator(".story-found").count() == 0
    assert await page.locator(".story-drawing svg").count() == 1
