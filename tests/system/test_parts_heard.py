"""A reading in parts, heard after a try: mine, the other, both; on the board and at a seat."""

from types import SimpleNamespace

import pytest

from bot.activities.choir import Hearing, Steps
from tests.fakes.choirs import BARITONE, TREBLE, a_choir
from tests.fakes.clock import FakeClock
from tests.fakes.world import EIGHT
from tests.service.seated import sign
from tests.system.program import running
from tests.system.test_access import violations
from tests.system.test_stage_in_browser import press
from tests.system.waiting import pictures, until

pytestmark = pytest.mark.browser

PARTS = "[...document.querySelectorAll('.hear li .part')].map(e => e.textContent)"
IN_PARTS = Steps(pitch="p06", rhythm="r02", voice="v04")


@pytest.fixture
async def program(tmp_path):
    async with running(tmp_path, FakeClock(EIGHT)) as opened:
        choir = a_choir(voices=(TREBLE, BARITONE), steps=IN_PARTS, hearing=Hearing.TRY)
        await opened.assembly.services.choirs.add(choir)
        await opened.assembly.scheduler.round()
        yield opened


async def played(page) -> list[str]:
    """Which sounds were asked for, by their last word."""
    return await page.evaluate(
        "[...document.querySelectorAll('.hear audio')].filter(a => a.src)"
        ".map(a => a.src.split('?')[0].split('/').slice(-2).join('/'))"
    )


@pytest.mark.long
async def test_the_board_offers_each_part_and_both(open_page, program):
    page = await open_page(width=360)
    await page.goto(program.room.url)
    await pictures(page)
    await page.locator(".tried").click()
    assert await page.evaluate(PARTS) == ["Part I", "Part III", "Both parts"]
    assert await violations(page) == []

    await page.locator(".once").nth(2).click()

    await page.wait_for_selector(".music .cursor", state="attached")
    assert await played(page) == ["0/all.mp3"]
    await page.locator(".once").nth(2).click()  # enough
    await page.wait_for_selector(".music .cursor", state="detached")


async def test_at_a_seat_the_part_that_is_mine_comes_first(open_page, program):
    services = program.assembly.services
    await sign(SimpleNamespace(database=program.database, services=services))
    slips = await services.seating.seats.make("choir-1", 1)
    page = await open_page(width=360)
    await page.goto(program.room.url + "seat")
    await page.get_by_label("Code on the slip").fill(slips[0].code)
    await page.get_by_role("button", name="Sit down").click()
    await page.locator(".tried").click()
    assert await page.evaluate(PARTS) == ["Part I, mine", "Part III", "Both parts"]

    await page.get_by_label("My part").select_option("1")

    assert await page.evaluate(PARTS) == ["Part III, mine", "Part I", "Both parts"]
    await page.reload()
    assert await page.evaluate(PARTS) == ["Part III, mine", "Part I", "Both parts"]
    await page.locator(".once").first.click()
    await page.wait_for_selector(".music .cursor", state="attached")
    assert await played(page) == ["1/line.mp3"]
    assert await violations(page) == []


async def test_where_all_read_one_line_there_is_nothing_to_choose(open_page, program):
    choirs = program.assembly.services.choirs
    await choirs.add(a_choir("one-line", voices=(TREBLE, BARITONE), hearing=Hearing.TRY))
    await program.assembly.scheduler.round()
    page = await open_page()
    await page.goto(f"{program.room.url}choir/one-line")
    await page.locator(".tried").click()
    assert await page.evaluate(PARTS) == ["Part I", "Part III"]
    reading = await page.get_attribute(".sheet", "data-reading")
    answer = await page.request.get(f"{program.room.url}media/{reading}/together/0/all.mp3")
    assert answer.status in (404, 409)


async def test_the_stage_gives_each_part_its_note_and_sounds_them_one_by_one(open_page, program):
    page = await open_page(width=1920, height=1080)
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url.partition("?")[0]))
    await page.goto(program.room.url + "stage")
    await page.wait_for_selector("#line svg")
    reading = (await program.assembly.services.lesson.line("choir-1")).card.reading_id
    await program.assembly.services.lesson.open(reading)

    await press(page, "p", "p")
    assert await page.locator("#notice").inner_text() == "First note and sound: Part III"
    await press(page, *["+"] * 20, *["PageDown"] * 6)
    await until(page, "document.body.dataset.running === 'pulse'")
    await press(page, "h")
    await page.wait_for_selector("#line .cursor", state="attached")
    await press(page, "p")
    assert await page.locator("#notice").inner_text() == "First note and sound: Both parts"

    files = {url.partition(f"/{reading}/")[2] for url in asked if reading in url}
    assert {"1/part.mp3", "1/start.mp3", "0/picture.svg"} <= files
    assert "1/picture.svg" not in files
