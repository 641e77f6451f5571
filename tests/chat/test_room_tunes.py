"""Mystery tunes in the room, over the real service: desk, stage and board, and who may do what."""

import json
import re
from html import unescape

import pytest

from bot.activities.choir import Steps
from bot.chat.room.server import Room, RoomOptions
from bot.chat.room.stage_ticket import HEADER
from tests.chat.conftest import visit
from tests.fakes.choirs import a_choir
from tests.fakes.clock import FakeClock
from tests.fakes.world import NINE, open_world

__all__ = ["visit"]


@pytest.fixture
async def world(tmp_path):
    async with open_world(tmp_path, FakeClock(NINE)) as opened:
        await opened.services.choirs.add(a_choir(steps=Steps(pitch="p14", rhythm="r11")))
        yield opened


@pytest.fixture
async def visitor(world, visit):
    room = Room(world.services, RoomOptions(port=0))
    await room.start()
    yield visit(room)
    await room.stop()


async def score_of(visitor, path):
    page = await (await visitor.get(path)).text()
    return page, json.loads(unescape(re.search(r'data-score="([^"]*)"', page)[1]))


@pytest.fixture
async def headers(visitor):
    _, score = await score_of(visitor, "/stage/choir-1")
    return {HEADER: score["ticket"]}


@pytest.fixture
async def begun(visitor, headers):
    answer = await visitor.post("/stage/choir-1/tune", headers=headers)
    return (await answer.json())["to"]


def names_in(page):
    return [unescape(name) for name in re.findall(r'name="name" value="([^"]*)"', page)]


async def test_a_tune_comes_to_the_stage_without_its_name(world, visitor, begun):
    page, score = await score_of(visitor, begun)
    reading = begun.partition("reading=")[2]
    assert len(re.findall(r"<li><span>", page)) == 4
    assert score["stops"] == ["ready", "key", "start", "inward", "name"]
    tune = await world.services.play.mysteries.tell("choir-1", reading)
    assert tune.history[:30] not in page


async def test_telling_needs_the_stage_and_opens_the_line(visitor, headers, begun):
    reading = begun.partition("reading=")[2]
    line = f"/stage/choir-1/{reading}/0/line.mp3"
    assert (await visitor.post(f"/stage/choir-1/{reading}/tell")).status == 403
    assert (await visitor.get(line, headers=headers)).status == 403
    answer = await visitor.post(f"/stage/choir-1/{reading}/tell", headers=headers)
    told = await answer.json()
    assert told["title"]
    assert told["told"][1].startswith("From ")
    assert (await visitor.get(line, headers=headers)).status == 200


async def test_a_choir_too_young_for_any_tune_is_told_in_words(world, visitor, headers):
    await world.services.choirs.add(a_choir("choir-2", steps=Steps()))
    answer = await visitor.post("/stage/choir-2/tune", headers=headers)
    assert answer.status == 409
    assert "No tune that is on" in (await answer.json())["sentence"]


async def test_on_the_board_a_name_is_right_or_not_and_nothing_is_kept(world, visitor, begun):
    reading = begun.partition("reading=")[2]
    page = await (await visitor.get("/choir/choir-1/tune")).text()
    names = names_in(page)
    assert len(names) == 4
    verdicts = {}
    for name in names:
        answer = await visitor.post("/choir/choir-1/tune", {"reading": reading, "name": name})
        verdicts[name] = await answer.text()
    right = [name for name, said in verdicts.items() if "That is it" in said]
    assert len(right) == 1
    wrong = next(said for said in verdicts.values() if "That is it" not in said)
    assert "Hear it inwardly once more" in wrong
    assert "First printed" not in wrong
    assert len(names_in(await (await visitor.get("/choir/choir-1/tune")).text())) == 4


async def test_once_told_the_board_tells_it_too_and_lets_it_be_heard(visitor, headers, begun):
    reading = begun.partition("reading=")[2]
    assert "line.mp3" not in await (await visitor.get("/choir/choir-1/tune")).text()
    await visitor.post(f"/stage/choir-1/{reading}/tell", headers=headers)
    page = await (await visitor.get("/choir/choir-1/tune")).text()
    assert "That is it" in page
    assert names_in(page) == []
    assert "line.mp3" in page
    assert "autoplay" not in page


async def test_the_board_leads_to_a_tune_only_when_there_is_one(visitor, headers):
    link = '<a href="/choir/choir-1/tune">'
    assert link not in await (await visitor.get("/choir/choir-1")).text()
    assert "No tune is up" in await (await visitor.get("/choir/choir-1/tune")).text()
    await visitor.post("/stage/choir-1/tune", headers=headers)
    assert link in await (await visitor.get("/choir/choir-1")).text()


async def test_the_desk_lists_every_tune_and_puts_one_aside_and_back(world, visitor):
    page = await (await visitor.get("/desk/tunes")).text()
    assert page.count("/off") == len(await world.services.play.mysteries.tunes())
    assert "devotional" in page
    assert page.count("Why everybody may use it: ") == page.count("/off")
    assert "Thomas Tallis died in 1585." in page
    answer = await visitor.post("/desk/tunes/dundee/off")
    assert (answer.status, answer.headers["Location"]) == (303, "/desk/tunes#dundee")
    page = await (await visitor.get("/desk/tunes")).text()
    assert 'action="/desk/tunes/dundee/on"' in page
    await visitor.post("/desk/tunes/dundee/on")
    assert all(state.on for state in await world.services.play.mysteries.tunes())
    assert (await visitor.post("/desk/tunes/nothing/off")).status == 404
