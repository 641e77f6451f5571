"""The board in a real browser: with scripts and without, by keyboard, on paper, at every width."""

import re
from dataclasses import replace
from datetime import timedelta

import pytest

from bot.errors import RenderFailed
from tests.chat import house
from tests.system.waiting import pictures, until

pytestmark = pytest.mark.browser


@pytest.mark.parametrize("width", [360, 1024, 1920])
async def test_todays_sheet_stands_on_the_board(open_page, room, width):
    page = await open_page(width=width)
    await page.goto(room.url)
    await pictures(page)

    picture = page.locator(".sheet[open] .music img")
    source = await picture.evaluate("image => image.currentSrc")
    box = await picture.bounding_box()

    assert ("phone.svg" if width == 360 else "picture.svg") in source
    assert box["width"] >= (360 if width == 360 else 0.8 * min(width, 1600))
    assert await page.evaluate("document.documentElement.scrollWidth") <= width


@pytest.mark.parametrize("width", [360, 1024, 1920])
@pytest.mark.parametrize(
    "path",
    ["choir/c1/folder", "reading/c1-20251124/part/1", "desk", "desk/choir/new", "desk/choir/c1",
     "desk/status", "nowhere"],
)  # fmt: skip
async def test_no_page_is_wider_than_the_screen(open_page, room, width, path):
    page = await open_page(width=width)
    await page.goto(room.url + path)
    await page.evaluate("document.querySelectorAll('details').forEach(d => { d.open = true })")
    assert await page.evaluate("document.documentElement.scrollWidth") <= width


async def test_no_text_on_a_phone_is_smaller_than_18_pixels(open_page, room):
    page = await open_page(width=360)
    await page.goto(room.url)
    sizes = await page.evaluate(
        """() => [...document.querySelectorAll('body *')]
          .filter(e => [...e.childNodes].some(n => n.nodeType === 3 && n.data.trim()))
          .filter(e => e.checkVisibility())
          .map(e => parseFloat(getComputedStyle(e).fontSize))"""
    )
    assert min(sizes) >= 18


async def test_all_letters_come_from_the_rooms_own_serif(open_page, room):
    page = await open_page()
    await page.goto(room.url + "reading/c1-20251124/part/1")
    await page.evaluate("document.querySelectorAll('details').forEach(d => { d.open = true })")
    client = await page.context.new_cdp_session(page)
    await client.send("DOM.enable")
    await client.send("CSS.enable")
    root = (await client.send("DOM.getDocument"))["root"]["nodeId"]
    body = await client.send("DOM.querySelectorAll", {"nodeId": root, "selector": "body *"})

    used = set()
    for node in body["nodeIds"]:
        fonts = await client.send("CSS.getPlatformFontsForNode", {"nodeId": node})
        used |= {(font["familyName"], font["isCustomFont"]) for font in fonts["fonts"]}

    assert {own for _, own in used} == {True}, used
    assert {family.split()[0] for family, _ in used} == {"Source"}


async def test_without_scripts_the_line_can_still_be_read_and_heard(open_page, room):
    page = await open_page(java_script_enabled=False)
    await page.goto(room.url)

    sheet = page.locator(".sheet[open]")
    assert await sheet.locator(".music img").is_visible()
    assert await sheet.locator("audio[controls]").first.is_visible()
    assert await sheet.get_by_text("Hear inwardly").is_visible()
    await sheet.get_by_text("Find it from do first").first.click()
    assert await sheet.get_by_text("You start on F.").first.is_visible()
    await sheet.get_by_text("The line in words").click()
    assert await sheet.get_by_text("four quarter notes").is_visible()
    assert await page.get_by_role("button", name="Count in").count() == 0
    assert await page.locator("#scheme").is_hidden()


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
    assert await page.locator(".sheet[open] .music img").is_visible()


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


async def test_the_first_stop_of_the_keyboard_skips_to_the_page(open_page, room):
    page = await open_page()
    await page.goto(room.url)
    await page.keyboard.press("Tab")
    assert await page.evaluate("document.activeElement.textContent") == "Skip to the page"
    await page.keyboard.press("Enter")
    assert await page.evaluate("document.activeElement.id") == "main"


async def test_everything_on_the_board_is_reached_by_tab_with_a_ring_in_sight(open_page, room):
    page = await open_page()
    await page.goto(room.url)
    stops = []
    for _ in range(60):
        await page.keyboard.press("Tab")
        stop = await page.evaluate(
            """() => {
              const at = document.activeElement, box = at.getBoundingClientRect();
              const ring = getComputedStyle(at).outlineStyle;
              const top = document.elementFromPoint(box.x + box.width / 2, box.y + box.height / 2);
              return { name: at.textContent.trim() || at.id, ring, tag: at.tagName,
                       seen: !!top && (at.contains(top) || top.contains(at)) };
            }"""
        )
        if stop["tag"] == "BODY":
            break
        stops.append(stop)

    names = [stop["name"] for stop in stops]
    assert {"Count in", "Look", "Sing again", "The line in words", "volume"} <= set(names)
    assert [stop["name"] for stop in stops if stop["ring"] == "none"] == []
    assert [stop["name"] for stop in stops if not stop["seen"]] == []


async def test_targets_are_large_enough_for_a_finger(open_page, room):
    page = await open_page(width=360)
    await page.goto(room.url)
    small = await page.evaluate(
        """() => [...document.querySelectorAll('a, button, summary, input, select')]
          .filter(e => e.checkVisibility() && !e.classList.contains('skip'))
          .map(e => [e.textContent.trim() || e.id || e.className,
                     e.closest('label')?.getBoundingClientRect() ?? e.getBoundingClientRect()])
          .filter(([, box]) => box.width < 24 || box.height < 24)
          .map(([name]) => name)"""
    )
    assert small == []


async def test_on_paper_a_sheet_is_one_page_in_black(open_page, services, room):
    page = await open_page()
    await page.goto(room.url + "reading/c1-20251124")
    await pictures(page)
    await page.emulate_media(media="print", color_scheme="dark")

    printed = await page.pdf(format="Letter")

    assert len(re.findall(rb"/Type\s*/Page\b", printed)) == 1
    assert await page.evaluate("getComputedStyle(document.body).color") == "rgb(0, 0, 0)"
    assert not await page.get_by_role("button", name="Count in").is_visible()
    assert await page.locator(".music img").is_visible()


async def test_nothing_moves_where_motion_is_reduced(open_page, room):
    page = await open_page(reduced_motion="reduce")
    await page.goto(room.url)
    moving = await page.evaluate(
        """[...document.querySelectorAll('*')].filter(e =>
          [null, '::before', '::after'].some(p => {
            const style = getComputedStyle(e, p);
            return parseFloat(style.transitionDuration) > 0 || style.animationName !== 'none';
          })).length"""
    )
    assert moving == 0
