"""Films on the board: offered, never begun by themselves, sent in ranges as phones ask for them."""

import re

import pytest

from bot.activities.choir import Steps
from bot.chat.room.server import Room, RoomOptions
from tests.chat import house
from tests.fakes.choirs import a_choir
from tests.fakes.clock import FakeClock
from tests.fakes.world import NINE, open_world


@pytest.fixture
async def world(tmp_path):
    async with open_world(tmp_path, FakeClock(NINE)) as opened:
        yield opened


async def test_the_board_offers_a_film_for_every_part_and_begins_none(visitor):
    page = await (await visitor.get("/")).text()
    films = re.findall(r"<video[^>]*>", page)
    assert len(films) == 5 * 3
    assert all('preload="none"' in film and "controls" in film for film in films)
    assert not any("autoplay" in film for film in films)
    assert "Without sound" in page
    assert 'download="sing-along-2025-11-24-1.mp4"' in page


async def test_a_film_is_sent_whole_and_in_ranges(visitor):
    card = "c1-20251124"
    whole = await visitor.get(f"/clip/{card}/0.mp4")
    assert (whole.status, whole.content_type) == (200, "video/mp4")
    part = await visitor.get(f"/clip/{card}/0.mp4", headers={"Range": "bytes=0-3"})
    assert (part.status, await part.read()) == (206, (await whole.read())[:4])


async def test_only_lines_and_parts_that_there_are_have_films(visitor):
    assert (await visitor.get("/clip/nothing/0.mp4")).status == 404
    assert (await visitor.get("/clip/c1-20251124/7.mp4")).status == 404


async def test_a_line_without_room_for_the_curtain_has_no_film(visitor, services):
    card = house.a_card(house.a_choir(), house.MONDAY, measures=2)
    services.readings.up = [card]
    assert "<video" not in await (await visitor.get("/")).text()


async def test_the_desk_hands_the_films_out_beside_the_sheets(world, visit):
    await world.services.choirs.add(a_choir(steps=Steps(pitch="p06", rhythm="r04")))
    await world.assembly.scheduler.round()
    room = Room(world.services, RoomOptions(port=0))
    await room.start()
    page = await (await visit(room).get("/desk/choir/choir-1/paper")).text()
    await room.stop()
    assert re.findall(r'download="([^"]*)"', page) == [f"sing-along-{NINE.date()}-1.mp4"]
