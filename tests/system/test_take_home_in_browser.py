"""The file that goes home, opened from the disk by a browser that has no network."""

import asyncio
import re
from html import unescape
from pathlib import Path

import pytest

from bot.activities.calendar import Meeting, Weekdays
from bot.activities.choir import Hearing, Steps
from bot.chat.room.pack import Wish, write_pack
from tests.chat import house
from tests.fakes.clock import FakeClock
from tests.fakes.drawn import open_services
from tests.system.test_access import violations

pytestmark = pytest.mark.browser

_SOUNDS = """
Promise.all([...document.querySelectorAll('audio')].map(sound => new Promise(done => {
  sound.addEventListener('loadedmetadata', () => done(sound.duration));
  sound.addEventListener('error', () => done(0));
  sound.preload = 'auto';
  sound.load();
})))
"""
_OPEN_ALL = "document.querySelectorAll('details').forEach(each => { each.open = true })"


@pytest.fixture(scope="module")
def packed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A week and a folder of a choir in two parts, written by the program."""
    folder = tmp_path_factory.mktemp("packed")

    async def write() -> None:
        async with open_services(folder / "data", FakeClock(house.MONDAY_MORNING)) as services:
            choir = house.a_choir(
                name="Period 3 <Treble>",
                steps=Steps(pitch="p05", rhythm="r04"),
                hearing=Hearing.TRY,
                measures=4,
                meeting=Meeting(pattern=Weekdays(days=frozenset({0, 1}))),
            )
            await services.choirs.add(house.replace(choir, voices=choir.voices[:2]))
            for wish in (Wish(choir=choir.name), Wish(choir=choir.name, sub=True)):
                await write_pack(services, wish, folder)

    asyncio.run(write())
    return folder


@pytest.fixture
async def open_file(open_page, packed):
    """Open a file of the pack; whatever it asks for from anywhere fails the test."""
    asked: list[str] = []

    async def open_one(name: str, width: int = 360, **options):
        page = await open_page(width=width, **options)

        async def refuse(route) -> None:
            address = route.request.url
            if address.startswith(("data:", "file:")) and address.count("file:") <= 1:
                await route.continue_()
            else:
                await route.abort()

        def note(request) -> None:
            if not request.url.startswith("data:"):
                asked.append(request.url)

        page.on("request", note)
        page.on("console", lambda line: asked.append(line.text))
        await page.route("**/*", refuse)
        await page.goto((packed / name).as_uri())
        return page

    yield open_one
    own = [url for url in asked if url.startswith("file:")]
    assert asked == own
    assert len(own) <= 1


@pytest.mark.parametrize("name", ["take-home-2025-11-24.html", "substitute.html"])
async def test_the_file_stands_alone_and_its_pictures_are_seen(open_file, name):
    page = await open_file(name, java_script_enabled=True)

    pictures = page.locator("article details.part[open] > figure svg.phone")
    assert await pictures.count() == (5 if name.startswith("sub") else 2)
    for each in await pictures.all():
        box = await each.bounding_box()
        assert box is not None
        assert 250 < box["width"] <= 360
        assert box["height"] > 150
    assert await page.evaluate("document.fonts.ready.then(all => [...all].length)") == 3
    assert await page.evaluate("document.fonts.check('18px \\'Room Serif\\'')")
    assert await page.evaluate("document.documentElement.scrollWidth") <= 360


async def test_every_sound_is_there_and_plays_its_length(open_file):
    page = await open_file("take-home-2025-11-24.html")

    lengths = await page.evaluate(_SOUNDS)

    # Two days, two parts, each with key and starting note, and with the line once.
    assert len(lengths) >= 2 * 2 * 3
    assert all(1.5 < length < 120 for length in lengths)
    assert sum(length > 8 for length in lengths) == 4


async def test_everything_can_be_reached_without_a_script(open_file):
    page = await open_file("take-home-2025-11-24.html", java_script_enabled=False)
    day = page.locator("#day-2025-11-25")

    await page.get_by_role("link", name="Tuesday, November 25").click()
    await day.get_by_text("Part II", exact=True).click()

    part = day.locator("details.part").nth(1)
    assert await part.locator("audio").first.is_visible()
    await part.get_by_text("The line in words").first.click()
    assert "Measure 2:" in await part.locator(".words p").first.inner_text()
    await day.get_by_text("See the pulse").click()
    assert await day.locator(".beats li").count() == 4


async def test_a_beat_after_another_is_shown_at_the_sheets_tempo(open_file):
    page = await open_file("take-home-2025-11-24.html")
    await page.evaluate(_OPEN_ALL)
    beats = page.locator(".beats").first.locator("li")
    tempo = int(re.findall(r"(\d+) beats", await page.locator(".facts").first.inner_text())[0])

    styles = await beats.evaluate_all(
        "all => all.map(e => { const s = getComputedStyle(e);"
        " return [parseFloat(s.animationDuration), parseFloat(s.animationDelay)] })"
    )

    assert [round(length, 2) for length, _ in styles] == [round(4 * 60 / tempo, 2)] * 4
    assert [round(delay, 2) for _, delay in styles] == [round(n * 60 / tempo, 2) for n in range(4)]


async def test_a_name_that_looks_like_markup_stays_a_name(open_file):
    page = await open_file("substitute.html")
    assert await page.locator("h1").inner_text() == "Period 3 <Treble>: for a substitute"


async def test_the_substitutes_page_begins_with_what_to_do(open_file):
    page = await open_file("substitute.html")

    steps = await page.locator(".plan ol li").all_inner_texts()

    assert len(steps) == 9
    assert any("Hear the key" in step for step in steps)
    assert "two are enough" in await page.locator(".plan").inner_text()
    assert await page.locator("article h2").all_inner_texts() == [
        f"Sheet {number}" for number in range(1, 6)
    ]


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("name", ["take-home-2025-11-24.html", "substitute.html"])
async def test_the_file_has_no_fault_that_axe_core_knows(open_file, name, scheme):
    page = await open_file(name, color_scheme=scheme)
    await page.evaluate(_OPEN_ALL)
    assert await violations(page) == []


async def test_the_policy_lets_nothing_in(packed):
    text = unescape((packed / "take-home-2025-11-24.html").read_text(encoding="utf-8"))

    assert "<script" not in text
    assert not re.findall(r"(?:src|href)=\"(?!data:|#)[^\"]*", text)
    assert not re.findall(r"url\(\"(?!data:)", text)
    assert "default-src 'none'" in text
    assert len(text) < 4_000_000
