"""A whole story as one file, opened from the disk by a browser that has no network, and played."""

import re

import pytest

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
