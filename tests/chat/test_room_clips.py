"""Films on the board: offered, never begun by themselves, sent in ranges as phones ask for them."""

import re

from tests.chat import house


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
