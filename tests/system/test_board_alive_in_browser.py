"""The board in a real browser, alive: sounds, routine, count-in, news, night."""

from dataclasses import replace
from datetime import timedelta

import pytest

from bot.errors import RenderFailed
from tests.chat import house
from tests.system.waiting import pictures, until

pytestmark = pytest.mark.browser


async def test_the_key_sounds_at_a_press_and_never_by_itself(open_page, room):
    page = await open_page()
    await page.goto(room.url)
    playing = "[...document.querySelectorAll('audio')].filter(a => !a.paused).length"
    assert await page.evaluate(playing) == 0

    await page.get_by_role("button", name="Hear the key Part I", exact=True).click()

    await until(page, f"{playing} === 1")
    volumes = "[...document.querySelectorAll('audio')].filter(a => !a.paused)[0].volume"
    assert await page.evaluate(volumes) == pytest.approx(0.6)
    await until(page, f"{playing} === 0")


async def test_a_sound_that_does_not_come_is_told_and_comes_at_the_next_press(open_page, room):
    page = await open_page()
    await page.goto(room.url)
    key = page.get_by_role("button", name="Hear the key Part I", exact=True)
    await page.route("**/*.mp3*", lambda route: route.abort())
    await key.click()
    told = page.locator(".player .told", has_text="The sound did not come.")
    await told.wait_for()

    await page.unroute("**/*.mp3*")
    await key.click()

    await until(page, "[...document.querySelectorAll('audio')].some(a => !a.paused)")
    assert await told.count() == 0


async def test_only_one_sound_is_heard_at_a_time(open_page, room):
    page = await open_page()
    await page.goto(room.url)
    await page.get_by_role("button", name="Hear the key Part I", exact=True).click()
    await page.get_by_role("button", name="Hear the key Part II", exact=True).click()
    playing = await page.evaluate(
        "[...document.querySelectorAll('audio')].filter(a => !a.paused).length"
    )
    assert playing <= 1


async def test_the_starting_note_waits_for_a_second_press(open_page, room):
    page = await open_page()
    await page.goto(room.url)
    start = page.get_by_role("button", name="Hear the starting note Part I", exact=True)
    assert not await start.is_visible()

    await page.locator(".sheet[open] .start summary").first.click()

    assert await start.is_visible()


async def test_the_mark_moves_along_the_routine_by_keyboard(open_page, room):
    page = await open_page()
    await page.goto(room.url)
    await page.get_by_role("button", name="Look").focus()
    await page.keyboard.press("ArrowRight")
    await page.keyboard.press("ArrowRight")

    marked = page.locator(".sheet[open] .steps [aria-current=step]")
    assert await marked.inner_text() == "Hear inwardly"
    assert "no sound" in await page.locator(".sheet[open] .routine > .hint").inner_text()


async def test_the_count_in_gives_one_measure_of_four_and_the_beat_goes_on(
    open_page, services, room
):
    services.readings.up[-1] = replace(services.readings.up[-1], tempo_bpm=132, measures=1)
    page = await open_page()
    await page.goto(room.url)
    await page.evaluate(
        """() => {
          window.seen = [];
          new MutationObserver(() => {
            const on = document.querySelector('.sheet[open] .beats .on');
            const counting = document.querySelector('.sheet[open] .counting') !== null;
            if (on) window.seen.push(`${on.textContent}${counting ? ' counted' : ''}`);
          }).observe(document.querySelector('.sheet[open] .pulse'),
                     { subtree: true, attributes: true, attributeFilter: ['class'] });
        }"""
    )

    await page.get_by_role("button", name="Count in").click()
    await page.get_by_role("button", name="Count in").wait_for(timeout=10_000)

    seen = list(dict.fromkeys(await page.evaluate("window.seen")))
    assert seen == [f"{n} counted" for n in range(1, 5)] + [str(n) for n in range(1, 5)]


async def test_the_tempo_moves_in_the_steps_of_a_metronome(open_page, room):
    page = await open_page()
    await page.goto(room.url)
    now = page.locator(".sheet[open] .bpm-now")
    assert await now.inner_text() == "69"

    await page.get_by_role("button", name="Faster").click()
    assert await now.inner_text() == "72"
    await page.get_by_role("button", name="Slower").click()
    await page.get_by_role("button", name="Slower").click()
    assert await now.inner_text() == "66"


async def test_a_new_sheet_arrives_without_a_reload_and_is_announced(open_page, services, room):
    page = await open_page()
    await page.goto(room.url)
    await page.evaluate("window.sameDocument = true")
    card = house.a_card(services.choirs.kept["c1"], house.MONDAY + timedelta(days=1))
    services.clock.set(house.MONDAY_MORNING + timedelta(days=1))

    await room.post(card, "nonce")
    services.readings.up.append(card)

    fresh = page.locator(f".sheet[data-reading='{card.reading_id}']")
    await fresh.wait_for()
    assert await page.evaluate("window.sameDocument")
    assert await page.locator(".sheet").last.get_attribute("data-reading") == card.reading_id
    assert await page.locator(".sheet[open]").count() == 1
    assert await page.locator("#news").inner_text() == "Today’s line is up."
    assert await fresh.get_by_role("button", name="Count in").is_visible()
    await pictures(page)


async def test_a_sheet_in_use_is_not_folded_away_by_a_new_one(open_page, services, room):
    page = await open_page()
    await page.goto(room.url)
    await page.get_by_role("button", name="Chant").click()
    card = house.a_card(services.choirs.kept["c1"], house.MONDAY + timedelta(days=1))

    await room.post(card, "nonce")

    await page.locator(f".sheet[data-reading='{card.reading_id}']").wait_for()
    assert await page.locator(".sheet[open]").count() == 2


async def test_a_board_that_slept_catches_up_when_it_is_looked_at_again(open_page, services, room):
    page = await open_page()
    await page.goto(room.url)
    await page.wait_for_timeout(200)
    hide = "Object.defineProperty(document, 'hidden', { get: () => %s, configurable: true });"
    hide += "document.dispatchEvent(new Event('visibilitychange'))"
    await page.evaluate(hide % "true")
    card = house.a_card(services.choirs.kept["c1"], house.MONDAY + timedelta(days=1))
    await room.post(card, "nonce")
    await page.wait_for_timeout(200)
    assert await page.locator(".sheet").count() == 5

    await page.evaluate(hide % "false")

    await page.locator(f".sheet[data-reading='{card.reading_id}']").wait_for()


async def test_a_picture_that_is_not_ready_is_asked_for_again(open_page, services, room):
    services.readings.broken = RenderFailed("the engraver is busy")
    page = await open_page()
    await page.goto(room.url)
    await page.wait_for_timeout(300)
    services.readings.broken = None
    await pictures(page)
    assert await page.locator(".sheet[open] .leaf > .music img").is_visible()


async def test_night_is_one_press_away_and_stays(open_page, room):
    page = await open_page()
    await page.goto(room.url)
    ground = "getComputedStyle(document.documentElement).backgroundColor"
    assert await page.evaluate(ground) == "rgb(251, 246, 234)"

    await page.get_by_role("button", name="Night").click()
    assert await page.evaluate(ground) == "rgb(20, 23, 26)"
    await page.reload()

    assert await page.evaluate(ground) == "rgb(20, 23, 26)"
    assert await page.get_by_role("button", name="Paper").is_visible()


async def test_a_device_that_prefers_the_dark_gets_the_night(open_page, room):
    page = await open_page(color_scheme="dark")
    await page.goto(room.url)
    ground = "getComputedStyle(document.documentElement).backgroundColor"
    assert await page.evaluate(ground) == "rgb(20, 23, 26)"
