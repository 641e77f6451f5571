"""Stories written at the desk: begun, grown scene by scene, kept, their faults beside the lines."""

import re
from html import unescape

import aiohttp
import pytest

from bot.activities.story_file import parse_story
from bot.service.content import load_content
from tests.chat import house
from tests.fakes.world import CONTENT

_HEAD = {
    "title": 'The "quiet" bell',
    "about": "A bell is shy.",
    "voices": "treble",
    "low": "5",
    "high": "6",
    "steps": "p05, r04",
    "key": "F",
    "finale": "2",
}


@pytest.fixture
async def author(open_room, visit, tmp_path):
    """A visitor of a room whose director has a folder of the own."""
    content = load_content([CONTENT, tmp_path])
    room = await open_room(house.services_of(content, house.a_choir()))
    return visit(room), content


def _scene(name, *paths, sing="Ring the bell and ring it low, / no one hears it, no one, no"):
    fields = {"id": name, "text": f"This is {name}.\nIt is quiet here.", "sing": sing}
    for number, (label, syllable, following) in enumerate(paths, start=1):
        fields |= {
            f"label-{number}": label,
            f"syllable-{number}": syllable,
            f"next-{number}": following,
        }
    return fields


def _faulty_lines(page):
    return [int(number) for number in re.findall(r'<li class="faulty" id="line-(\d+)"', page)]


async def test_a_story_is_begun_and_grown_by_forms_until_it_is_sound(author):
    visitor, content = author
    begun = await visitor.post("/desk/stories", _HEAD)
    assert begun.status == 303
    address = begun.headers["Location"]
    assert address == "/desk/stories/the-quiet-bell"
    page = await (await visitor.get(address)).text()
    assert "there is no scene" in page

    start = _scene("start", ("Go in", "mi", "tower"), ("Stay out", "so", "yard"))
    page = await (
        await visitor.post(f"{address}/scene", {**start, "way": "echo", "stop": "1"})
    ).text()
    assert page.count("which is no scene") == 4  # above and beside
    assert len(_faulty_lines(page)) >= 2
    await visitor.post(f"{address}/scene", _scene("tower"))
    page = await (await visitor.post(f"{address}/scene", _scene("yard"))).text()

    assert "The story is sound." in page
    assert _faulty_lines(page) == []
    assert "<svg" in page
    text = content.stories["the-quiet-bell"].read_text("utf-8")
    story = parse_story(text, "f", "the-quiet-bell")
    assert story.title == 'The "quiet" bell'
    assert [scene.id for scene in story.scenes] == ["start", "tower", "yard"]
    assert story.scenes[0].stop
    assert story.scenes[0].line.way == "echo"


async def test_faults_stand_beside_their_lines_and_the_text_is_kept_as_it_is(author):
    visitor, content = author
    text = content.stories["lost-tuesday"].read_text("utf-8")
    broken = text.replace('next = "clock"', 'next = "clok"', 1)
    line = broken[: broken.index('next = "clok"')].count("\n") + 1

    answer = await visitor.post("/desk/stories/lost-tuesday", {"text": broken})
    page = await answer.text()

    assert answer.status == 200
    assert "Kept." in page
    assert line - 3 in _faulty_lines(page)  # where the path begins
    shown = unescape(
        re.search(r"<textarea[^>]*class=\"story-source\">\n(.*?)</textarea>", page, re.S)[1]
    )
    assert shown.rstrip() == broken.rstrip()
    assert content.stories["lost-tuesday"].read_text("utf-8").rstrip() == broken.rstrip()
    assert content.stories.is_own("lost-tuesday")


async def test_a_file_is_brought_and_one_of_the_same_name_is_not_written_over(author):
    visitor, content = author
    text = content.stories["lost-tuesday"].read_bytes()

    def form():
        data = aiohttp.FormData()
        data.add_field("title", "")
        data.add_field("file", text, filename="My_Story.toml", content_type="text/plain")
        return data

    first, again = [await visitor.post("/desk/stories", form()) for _ in range(2)]

    assert first.headers["Location"] == "/desk/stories/my-story"
    assert again.status == 422
    assert "my-story already" in await again.text()
    assert content.stories["my-story"].read_bytes() == text


async def test_what_is_no_text_or_has_no_name_is_told(author):
    visitor, _ = author
    data = aiohttp.FormData()
    data.add_field("file", b"\xff\xfe\x00", filename="x.toml", content_type="text/plain")

    assert "no text in UTF-8" in await (await visitor.post("/desk/stories", data)).text()
    nameless = await visitor.post("/desk/stories", {**_HEAD, "title": "???"})
    assert nameless.status == 422
    assert "plain letters" in await nameless.text()
    assert (await visitor.get("/desk/stories/no-such-story")).status == 404


async def test_what_is_typed_is_escaped(author):
    visitor, _ = author
    await visitor.post("/desk/stories", {**_HEAD, "title": "Bell <b>"})

    page = await (await visitor.get("/desk/stories/bell-b")).text()

    assert "Bell <b>" not in page
    assert "Bell &lt;b&gt;" in page


async def test_the_shelf_tells_whose_a_story_is(author):
    visitor, content = author
    content.stories.keep("mine", "format = 1\n")

    page = await (await visitor.get("/desk/stories")).text()

    assert page.count("comes with Riserbell") == 4
    assert re.search(r"mine</a> <span[^>]*>yours", page)
