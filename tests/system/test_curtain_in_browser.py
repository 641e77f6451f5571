"""The curtain in a real browser: it falls by itself and by hand, comes back, and is counted."""

import asyncio
import re

import pytest

from tests.chat.lesson_house import a_line_of
from tests.system.waiting import until

pytestmark = pytest.mark.browser

_Q = "1/4"
_MEASURE = ((0, _Q), (2, _Q), (1, _Q), (0, _Q))
LINE = (_MEASURE,) * 3
BEATS = 12
AWAY = "document.getElementById('line').classList.contains('away')"
SINGING = "document.body.dataset.running === 'pulse'"
OVER = "document.body.dataset.running === 'nothing'"


@pytest.fixture
async def page(open_page, room, services):
    return await on_curtain(open_page, room, services)


async def on_curtain(open_page, room, services, faster=20, **options):
    services.lesson.exercise = a_line_of(LINE)
    services.play.curtains.whole = BEATS
    opened = await open_page(width=1280, height=720, **options)
    await opened.goto(room.url + "stage/c1?way=curtain")
    await opened.wait_for_selector("#line svg")
    for _ in range(faster):
        await opened.keyboard.press("+")
    return opened


async def watch(page):
    """Keep in the page itself when it came to what, in seconds: a busy machine asks late."""
    await page.evaluate(
        """() => {
          window.seen = { taps: [] };
          const note = () => {
            const now = performance.now() / 1000;
            if (document.body.dataset.running === 'pulse') window.seen.sung ??= now;
            const away = document.querySelector('#line.away');
            if (away) window.seen.away ??= now;
          };
          const watcher = new MutationObserver(note);
          watcher.observe(document.body, { attributes: true });
          watcher.observe(document.getElementById('line'), { attributes: true });
          addEventListener('keydown', () => window.seen.taps.push(performance.now() / 1000), true);
        }"""
    )


async def sing(page, until_sung=SINGING):
    """Come to the first reading, and through its count-in."""
    for _ in range(5):
        await page.keyboard.press("PageDown")
    await page.keyboard.press("PageDown")
    await until(page, "document.body.dataset.stop === 'first'")
    await until(page, until_sung)


def seen(page):
    return page.evaluate("getComputedStyle(document.querySelector('#line > svg')).visibility")


async def test_the_page_goes_at_the_drawn_beat_and_stays_away_to_the_end(page, services):
    await watch(page)
    await sing(page)
    await until(page, AWAY)
    seen_at = await page.evaluate("window.seen")
    beats = (seen_at["away"] - seen_at["sung"]) * 160 / 60
    assert services.play.curtains.falls_at == pytest.approx(beats, abs=0.7)
    await until(page, OVER)
    assert await page.evaluate(AWAY)
    assert await seen(page) == "hidden"
    assert services.play.curtains.fallen == [(5, False)]


async def test_one_key_lets_it_fall_by_hand_and_brings_the_page_back(page, services):
    services.play.curtains.falls_at = 11.0
    await sing(page)
    async with page.expect_response("**/curtain/fell?*"):
        await page.keyboard.press(".")
    assert await page.evaluate(AWAY)
    assert not await page.locator("#dark").is_visible()
    await page.keyboard.press(".")
    assert not await page.evaluate(AWAY)
    await until(
        page, "getComputedStyle(document.querySelector('#line > svg')).visibility === 'visible'"
    )
    ((at, by_hand),) = services.play.curtains.fallen
    assert by_hand
    assert 0 <= at < 3


async def test_two_taps_on_the_last_beats_make_the_pulse_the_choirs(open_page, room, services):
    page = await on_curtain(open_page, room, services, faster=0)
    await sing(page, "document.body.dataset.running === 'count-in'")
    figures = (
        "[...document.querySelectorAll('#beats li')].findIndex(f => f.classList.contains('on'))"
    )
    await until(page, f"({figures}) === 2")
    await watch(page)
    await page.keyboard.press("PageDown")
    await until(page, "performance.now() / 1000 - window.seen.taps[0] >= 0.6")
    await page.keyboard.press("PageDown")
    await until(page, SINGING)
    assert await page.evaluate("document.body.dataset.stop") == "first"
    seen_at = await page.evaluate("window.seen")
    apart = seen_at["taps"][1] - seen_at["taps"][0]
    assert int(await page.locator("#bpm").inner_text()) == pytest.approx(60 / apart, abs=6)
    assert seen_at["sung"] - seen_at["taps"][1] == pytest.approx(apart, abs=0.15)


async def test_what_the_class_held_is_marked_by_one_press_and_kept_by_going_on(page, services):
    await sing(page)
    await until(page, AWAY)
    await until(page, "document.getElementById('hint').textContent.includes('Hands up')")
    fell = await page.evaluate("performance.now()")
    await until(page, f"performance.now() - {fell} > 3.4 * 60000 / 160")
    await page.keyboard.press("PageDown")
    assert await page.evaluate("document.body.dataset.stop") == "first"
    await until(page, OVER)
    hint = await page.locator("#hint").inner_text()
    held = int(re.search(r"held after the page went: (\d+)", hint)[1])
    assert 3 <= held <= 6
    await page.keyboard.press("PageDown")
    assert await page.evaluate("document.body.dataset.stop") == "mend"
    await until(page, f"!{AWAY}")
    async with asyncio.timeout(5):
        while not services.play.curtains.kept:  # noqa: ASYNC110 - the room rings no bell
            await asyncio.sleep(0.02)
    assert services.play.curtains.kept == {1: held}


async def test_a_number_can_be_typed_and_no_number_keeps_nothing(page, services):
    await sing(page)
    await until(page, AWAY)
    await until(page, OVER)
    hint = page.locator("#hint")
    assert "a number up to 7" in await hint.inner_text()
    for key in ("5", "9", "Backspace", "6"):  # 59 is more than there are: the 9 is not taken
        await page.keyboard.press(key)
    assert "went: 6" in await hint.inner_text()
    await page.keyboard.press("Backspace")
    await page.keyboard.press("PageDown")
    assert await page.evaluate("document.body.dataset.stop") == "mend"
    assert services.play.curtains.kept == {}


async def test_a_line_without_room_is_told_and_falls_by_hand_all_the_same(
    open_page, room, services
):
    services.play.curtains.falls_at = None
    page = await on_curtain(open_page, room, services, faster=0)
    await until(page, "document.getElementById('notice').textContent.includes('too short')")
    await sing(page)
    await page.keyboard.press(".")
    assert await page.evaluate(AWAY)


async def test_where_motion_is_reduced_the_page_is_cut_away(open_page, room, services):
    page = await on_curtain(open_page, room, services, reduced_motion="reduce")
    moved = "getComputedStyle(document.querySelector('#line > svg')).transitionDuration"
    assert await page.evaluate(moved) == "0s"
    await sing(page)
    await until(page, AWAY)
    assert await seen(page) == "hidden"


async def test_the_count_in_can_be_silent(page):
    await page.evaluate(
        """() => {
          window.ticks = 0;
          const start = OscillatorNode.prototype.start;
          OscillatorNode.prototype.start = function (...given) {
            window.ticks += 1;
            return start.apply(this, given);
          };
        }"""
    )
    await page.keyboard.press("q")
    assert await page.locator("#notice").inner_text() == "The count-in is silent."
    await sing(page)
    assert await page.evaluate("window.ticks") == 0


async def test_every_way_can_be_chosen_by_a_clicker(open_page, room, services):
    services.lesson.exercise = a_line_of(LINE)
    page = await open_page(width=1920, height=1080)
    await page.goto(room.url + "stage/c1")
    await page.wait_for_selector("#line svg")
    while await page.evaluate("document.body.dataset.stop") != "done":
        await page.keyboard.press("PageDown")
    for _ in range(3):
        await page.keyboard.press(".")
    await page.keyboard.press("PageDown")
    assert await page.locator("#ways").is_visible()
    marked = page.locator("#ways .marked")
    assert await marked.get_attribute("data-way") == "curtain"
    await page.keyboard.press(".")
    assert await marked.get_attribute("data-way") == "retrograde"
    await page.keyboard.press("PageUp")
    assert not await page.locator("#ways").is_visible()
    await page.keyboard.press("w")
    await page.keyboard.press("PageDown")
    await page.wait_for_url("**/stage/c1?reading=today&way=curtain")
