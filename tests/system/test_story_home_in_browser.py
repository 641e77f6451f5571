"""A whole story as one file, opened from the disk by a browser that has no network, and played."""

import re

import numpy as np
import pytest
from pypdfium2 import PdfDocument

from bot.cli import main
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


@pytest.fixture(scope="module")
def story_file(tmp_path_factory):
    folder = tmp_path_factory.mktemp("story")
    assert main(["story", "new", str(folder / "gate.toml")]) == 0
    written = folder / "gate.html"
    assert main(["story", "html", str(folder / "gate.toml"), "--out", str(written)]) == 0
    return written


@pytest.fixture
async def opened(open_page, story_file):
    """Open the file; whatever it asks for from anywhere fails the test."""
    asked: list[str] = []

    async def open_one(width: int = 360, **options):
        page = await open_page(width=width, **options)

        async def refuse(route) -> None:
            here = route.request.url.startswith(("data:", "file:"))
            await (route.continue_() if here else route.abort())

        def note(request) -> None:
            if not request.url.startswith("data:"):
                asked.append(request.url)

        page.on("request", note)
        page.on("console", lambda line: asked.append(line.text))
        await page.route("**/*", refuse)
        await page.goto(story_file.as_uri())
        return page

    yield open_one
    assert all(url.startswith(story_file.as_uri()) for url in asked)


async def _scenes_seen(page):
    return [
        await each.get_attribute("id")
        for each in await page.locator("article").all()
        if await each.is_visible()
    ]


@pytest.mark.parametrize("width", [360, 1280])
async def test_the_story_is_told_scene_by_scene_to_its_end_and_again(opened, width):
    page = await opened(width)
    assert await _scenes_seen(page) == ["scene-gate"]
    assert await page.locator("#scene-gate .ways a svg").count() == 2

    await page.get_by_text("Say hello to the frog").click()
    assert await _scenes_seen(page) == ["scene-frog"]
    ends = page.locator("#scene-frog details.end")
    assert await ends.count() == 1
    await ends.locator("> summary").click()
    box = await ends.locator("figure svg:visible").bounding_box()
    assert box["width"] > 0.6 * min(width, 900)

    await page.get_by_text("Begin again").first.locator("visible=true").click()
    assert await _scenes_seen(page) == ["scene-gate"]
    await page.get_by_text("Look over the wall").click()
    assert await _scenes_seen(page) == ["scene-well"]
    assert await page.evaluate("document.documentElement.scrollWidth") <= width


async def test_every_sound_is_inside_and_plays(opened):
    page = await opened()

    lengths = await page.evaluate(_SOUNDS)

    assert len(lengths) == 1 + 2 * 3 + 2  # the key; three lines with their first notes; two ends
    assert all(1.5 < length < 60 for length in lengths)


async def test_the_page_holds_no_script_and_nothing_against_access(opened, story_file):
    text = story_file.read_text("utf-8")
    page = await opened(java_script_enabled=True)

    assert "<script" not in text
    assert not re.search(r"https?://(?!www\\.w3\\.org)", text.replace("http://www.w3.org/", ""))
    assert await violations(page) == []
    await page.get_by_text("Say hello to the frog").click()
    assert await violations(page) == []


async def _tab_to(page, selector):
    """Move the focus by the Tab key alone until it is on such an element."""
    for _ in range(60):
        await page.keyboard.press("Tab")
        if await page.evaluate("one => document.activeElement.matches(one)", selector):
            return
    raise AssertionError(f"no Tab reaches {selector}")


async def test_a_way_is_played_to_its_end_by_the_keyboard_alone(opened):
    page = await opened(1280)

    await _tab_to(page, ".ways a")
    await page.keyboard.press("Enter")
    assert await _scenes_seen(page) != ["scene-gate"]
    await _tab_to(page, "details.end > summary")
    await page.keyboard.press("Enter")
    assert await page.locator("details.end[open] figure svg:visible").count() == 1
    await _tab_to(page, "a.again")
    await page.keyboard.press("Enter")
    assert await _scenes_seen(page) == ["scene-gate"]


async def test_on_paper_all_scenes_stand_with_their_music_and_no_player(opened):
    page = await opened(1280)
    document = PdfDocument(await page.pdf(format="A4"))

    text = "\n".join(each.get_textpage().get_text_bounded() for each in document)
    for scene in (1, 2, 3):
        assert f"Scene {scene}" in text
    assert "Begin again" not in text
    assert "After your own try" not in text
    shown = [np.asarray(each.render(scale=0.5).to_pil().convert("L")) for each in document]
    # Staff lines: rows of ink nearly as wide as the music, five a staff.
    assert sum(int(((each < 140).mean(axis=1) > 0.4).sum()) for each in shown) >= 5 * 3


def test_a_sign_is_in_the_file_once_however_often_it_is_drawn(story_file):
    text = story_file.read_text("utf-8")
    outlines = re.findall(r'<path id="s\d+" transform="[^"]*" d="([^"]*)"', text)
    assert len(outlines) > 20
    assert text.count("<use ") > 5 * len(outlines)
    assert all(text.count(f'd="{each}"') <= 6 for each in outlines)  # once for each of its sizes
    assert len(text) < 800_000
