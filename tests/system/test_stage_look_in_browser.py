"""How the stage looks and is told: from the last row, in the dark, with less motion, by ear."""

import pytest

from tests.chat.lesson_house import a_line_of
from tests.system.test_access import violations
from tests.system.test_stage_in_browser import SHORT, SIZES, on_stage, press, stop_of
from tests.system.waiting import until

pytestmark = pytest.mark.browser

_Q = "1/4"
# As dense as a line of eight measures gets at the middle steps.
DENSE = (
    ((0, "1/8"), (1, "1/8"), (2, _Q), (1, "1/8"), (2, "1/8"), (3, _Q)),
    ((4, "3/8"), (3, "1/8"), (2, _Q), (None, _Q)),
) * 4


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize(("width", "height"), SIZES)
async def test_the_last_row_can_read_everything(open_page, services, room, width, height, scheme):
    services.lesson.exercise = a_line_of(DENSE)
    page = await on_stage(open_page, room, width, height, color_scheme=scheme)
    await press(page, *["PageDown"] * 4)
    sizes = await page.evaluate(
        """() => [...document.querySelectorAll('body *')]
          .filter(e => [...e.childNodes].some(n => n.nodeType === 3 && n.data.trim()))
          .filter(e => e.checkVisibility() && !e.classList.contains('heard'))
          .map(e => parseFloat(getComputedStyle(e).fontSize))"""
    )
    assert min(sizes) >= 32
    staff = await page.evaluate(
        """() => {
          const svg = document.querySelector('#line svg');
          const lines = [...svg.querySelectorAll('path[stroke-width]')]
            .map(p => p.getBoundingClientRect()).filter(r => r.width > 100)
            .map(r => r.top).sort((a, b) => a - b)
            .filter((top, n, all) => n === 0 || top - all[n - 1] > 2);
          return { height: lines[4] - lines[0], lines: lines.length };
        }"""
    )
    assert staff["lines"] == 10
    assert staff["height"] >= height / 15
    picture = await page.locator("#line svg").bounding_box()
    assert picture["width"] > 0.9 * width
    ink = "e => getComputedStyle(e).color"
    assert await page.eval_on_selector("#line svg", ink) == await page.eval_on_selector("body", ink)
    assert await page.evaluate("document.documentElement.scrollHeight <= innerHeight")
    assert await page.evaluate("document.documentElement.scrollWidth <= innerWidth")


async def test_where_motion_is_reduced_the_cursor_jumps_from_note_to_note(
    open_page, services, room
):
    services.lesson.exercise = a_line_of(SHORT * 2)
    page = await on_stage(open_page, room, reduced_motion="reduce")
    await press(page, *["+"] * 15, *["PageDown"] * 6)
    await until(page, "document.body.dataset.running === 'pulse'")
    await press(page, "h")
    await page.wait_for_selector("#line .cursor", state="attached")
    places = await page.evaluate(
        """() => new Promise(done => {
          const seen = new Set();
          const look = () => {
            const cursor = document.querySelector('#line .cursor');
            if (!cursor || seen.size > 40) return done(seen.size);
            if (cursor.getAttribute('d')) seen.add(cursor.getAttribute('d'));
            requestAnimationFrame(look);
          };
          look();
        })"""
    )
    assert places <= 8
    moving = await page.evaluate(
        """[...document.querySelectorAll('*')].filter(e =>
          [null, '::before', '::after'].some(p => {
            const style = getComputedStyle(e, p);
            return parseFloat(style.transitionDuration) > 0 || style.animationName !== 'none';
          })).length"""
    )
    assert moving == 0


async def test_the_dark_hides_everything_until_the_next_press(open_page, room):
    page = await on_stage(open_page, room)
    await press(page, "PageDown", ".")
    dark = page.locator("#dark")
    assert await dark.bounding_box() == {"x": 0, "y": 0, "width": 1280, "height": 720}
    await press(page, "PageDown")
    assert not await dark.is_visible()
    assert await stop_of(page) == "key"


async def test_the_line_of_keys_fades_and_comes_back(open_page, room):
    page = await open_page(width=1280, height=720)
    await page.clock.install()
    await page.goto(room.url + "stage")
    keys = page.locator("#keys")
    assert "once more" in await keys.inner_text()
    await page.clock.run_for(10_000)
    assert "faded" in await keys.get_attribute("class")
    await press(page, "k")
    assert "faded" not in await keys.get_attribute("class")
    assert "another line" in await keys.inner_text()


async def test_what_happens_is_told_politely(open_page, room):
    page = await on_stage(open_page, room)
    told = page.locator("#told")
    assert await told.get_attribute("aria-live") == "polite"
    await press(page, "PageDown")
    assert await told.inner_text() == "The key. Listen, and find do."
    await press(page, *["PageDown"] * 6, "ArrowRight")
    assert await told.inner_text() == "Mend one spot. Measure 2"
    await press(page, "PageDown", "PageDown")
    assert await told.inner_text() == "Did we hold the key? Hum your do. The next press sounds it."


async def test_all_letters_come_from_the_rooms_own_serif(open_page, room):
    page = await on_stage(open_page, room)
    await press(page, "ArrowUp", "k")
    client = await page.context.new_cdp_session(page)
    await client.send("DOM.enable")
    await client.send("CSS.enable")
    root = (await client.send("DOM.getDocument"))["root"]["nodeId"]
    body = await client.send("DOM.querySelectorAll", {"nodeId": root, "selector": "body *"})
    used = set()
    for node in body["nodeIds"]:
        fonts = await client.send("CSS.getPlatformFontsForNode", {"nodeId": node})
        used |= {font["isCustomFont"] for font in fonts["fonts"]}
    assert used == {True}


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("presses", [0, 5, 7, 11])
async def test_the_stage_has_no_fault_that_axe_core_knows(open_page, room, presses, scheme):
    page = await on_stage(open_page, room, color_scheme=scheme)
    await press(page, *["PageDown"] * presses)
    assert await violations(page) == []


async def test_night_is_one_letter_away_and_stays(open_page, room):
    page = await on_stage(open_page, room)
    await press(page, "n")
    ground = "getComputedStyle(document.documentElement).backgroundColor"
    assert await page.evaluate(ground) == "rgb(20, 23, 26)"
    await page.reload()
    assert await page.evaluate(ground) == "rgb(20, 23, 26)"
