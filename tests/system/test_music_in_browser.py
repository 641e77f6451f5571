"""Music at the desk in a real browser: typed in, looked at, ranges tested, for everybody."""

import pytest

from tests.chat import house
from tests.fakes.clock import FakeClock
from tests.fakes.drawn import open_services
from tests.system.test_access import violations

pytestmark = pytest.mark.browser
LETTERS = "KEY F. |d :r !m :r |d :m !s :- |s :f !m :r |d :t_ !d :- ||"


@pytest.fixture
async def services(tmp_path):
    async with open_services(tmp_path, FakeClock(house.MONDAY_MORNING)) as found:
        choir = house.a_choir()
        await found.choirs.add(house.replace(choir, voices=choir.voices[:2]))
        await found.papers.ranges.test(choir, {"low_treble": ["Bb3"], "high_treble": ["E5"]})
        yield found


async def _fits(page):
    return await page.evaluate("document.documentElement.scrollWidth <= innerWidth")


@pytest.mark.parametrize("width", [360, 1280])
async def test_typed_music_is_looked_at(open_page, room, width):
    page = await open_page(width=width, height=900)
    await page.goto(room.url + "desk/choir/c1/check")
    await page.get_by_label("Or typed").fill(LETTERS)
    await page.get_by_label("Published reading criteria").select_option("virginia-district-6/1")
    await page.get_by_role("button", name="Look at it").click()

    await page.get_by_text("the tone low ti in measure 4, beat 2").first.wait_for()
    shown = page.locator(".found figure svg:visible")
    assert await shown.count() == 1
    box = await shown.bounding_box()
    assert box["height"] / box["width"] > (0.35 if width == 360 else 0.1)
    assert await _fits(page)
    assert await violations(page) == []


@pytest.mark.parametrize("path", ["ranges", "hearing", "day/2025-11-25/along", "paper", "settings"])
@pytest.mark.parametrize("width", [360, 1280])
async def test_the_pages_fit_and_have_no_fault_of_access(open_page, room, path, width):
    page = await open_page(width=width, height=900)
    await page.goto(f"{room.url}desk/choir/c1/{path}")
    await page.evaluate("document.querySelectorAll('details').forEach(d => { d.open = true })")
    assert await _fits(page)
    assert await violations(page) == []


async def test_what_is_wrong_in_a_range_test_stands_at_its_field(open_page, room):
    page = await open_page(width=360, height=900)
    await page.goto(room.url + "desk/choir/c1/ranges")
    await page.get_by_label("Lowest comfortable note").first.fill("H3")
    await page.get_by_label("Highest comfortable note").first.fill("E5")
    await page.get_by_role("button", name="Keep").click()
    await page.locator(".fault").first.wait_for()
    assert await page.get_by_label("Lowest comfortable note").first.input_value() == "H3"
    assert await violations(page) == []
