"""The board in a real browser: with scripts and without, by keyboard, on paper, at every width."""

import re

import pytest

from tests.system.waiting import pictures

pytestmark = pytest.mark.browser


@pytest.mark.parametrize("width", [360, 1024, 1920])
async def test_todays_sheet_stands_on_the_board(open_page, room, width):
    page = await open_page(width=width)
    await page.goto(room.url)
    await pictures(page)

    picture = page.locator(".sheet[open] .leaf > .music img")
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
    assert await sheet.locator(".leaf > .music img").is_visible()
    assert await sheet.locator("audio[controls]").first.is_visible()
    assert await sheet.get_by_text("Hear inwardly").is_visible()
    await sheet.get_by_text("Find it from do first").first.click()
    assert await sheet.get_by_text("You start on F.").first.is_visible()
    await sheet.get_by_text("The line in words").click()
    assert await sheet.get_by_text("four quarter notes").is_visible()
    assert await page.get_by_role("button", name="Count in").count() == 0
    assert await page.locator("#scheme").is_hidden()


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
    assert await page.locator(".leaf > .music img").is_visible()


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
