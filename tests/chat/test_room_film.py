"""The page of a film: the beats behind the curtain as buttons, asked only where it was approved."""

import re
from datetime import timedelta

import pytest

from bot.activities.curtain import HomeWeek, Spot
from bot.chat.room.server import Room, RoomOptions
from bot.service.clips import Earlier, films_beats
from bot.store.home_spans import keep_home_week
from bot.store.readings import find_reading
from tests.chat.seated_room import room, singer, sit, slips, visit, world
from tests.fakes.choirs import MONDAY
from tests.privacy.sheets import ALL
from tests.service.seated import rows_of, seated

__all__ = ["room", "singer", "slips", "visit", "world"]


@pytest.fixture
async def line(world, slips):
    """The id of the line that is up."""
    return (await world.services.readings.board("choir-1"))[-1].reading_id


async def spots_of(world, line) -> tuple[Spot, ...]:
    async with world.database.snapshot() as read:
        (spots,) = films_beats(await find_reading(read, line), Earlier())
    return spots


def buttons(page):
    """What can be pressed for a number of beats, with its name."""
    return re.findall(r'<button type="submit" name="beats" value="(\d+)"[^>]*?>', page)


async def test_the_board_leads_to_the_film_and_it_asks_nothing_of_a_passer_by(singer, line):
    assert f'href="/reading/{line}/film"' in await (await singer.get("/choir/choir-1")).text()
    page = await (await singer.get(f"/reading/{line}/film")).text()
    assert f'src="/clip/{line}/0.mp4' in page
    assert "autoplay" not in page
    assert "<form" not in page
    assert "From your seat you can say" in page


async def test_a_seat_taps_the_last_beat_it_held_changes_it_and_leaves_it_out(
    world, singer, slips, line
):
    await sit(singer, slips[0].code)
    address, spots = f"/reading/{line}/film", await spots_of(world, line)
    page = await (await singer.get(address)).text()
    assert buttons(page) == [str(n) for n in range(len(spots) + 1)]
    third = f'aria-label="Measure {spots[2].measure}, beat {spots[2].beat}: 3 beats"'
    assert third in page
    for beats, words in (("3", "This week: 3 beats."), ("0", "you stopped with the page")):
        answer = await singer.post("/seat/span", {"reading": line, "beats": beats})
        assert (answer.status, answer.headers["Location"]) == (303, f"{address}?done=told#held")
        page = await (await singer.get(f"{address}?done=told")).text()
        assert words in page
        assert "You can change it until September 20, 2026." in page
        assert page.count('aria-current="true"') == 1
    assert "you stopped with the page" in await (await singer.get("/seat")).text()
    data = await (await singer.get("/seat/data")).text()
    assert "Week of September 14, 2026: 0 beats" in data
    await singer.post("/seat/span", {"reading": line, "beats": ""})
    assert "Left out." in await (await singer.get(f"{address}?done=back")).text()
    assert await rows_of(world.database, "home_spans") == []


async def test_what_no_film_leaves_is_refused(world, singer, slips, line):
    await sit(singer, slips[0].code)
    wishes = [
        ({"beats": "x"}, 400),
        ({"beats": "-1"}, 400),
        ({"beats": "9999"}, 400),
        ({"beats": "٣"}, 400),
        ({"beats": "999"}, 409),
        ({"beats": "2", "reading": "another"}, 404),
    ]
    for wish, status in wishes:
        answer = await singer.post("/seat/span", {"reading": line, **wish})
        assert (answer.status, wish) == (status, wish)
    assert await rows_of(world.database, "home_spans") == []


async def test_without_a_seat_or_from_another_site_nothing_is_kept(world, singer, slips, line):
    wish = {"reading": line, "beats": "2"}
    assert (await singer.post("/seat/span", wish)).status == 403
    await sit(singer, slips[0].code)
    for headers in ({"Origin": "https://elsewhere.example"}, {"Sec-Fetch-Site": "cross-site"}):
        assert (await singer.post("/seat/span", wish, headers=headers)).status == 403
    assert await rows_of(world.database, "home_spans") == []


async def test_where_it_is_not_approved_the_film_works_and_nothing_is_asked(world, visit):
    slips = await seated(world, 1, activities=ALL)
    await world.assembly.scheduler.round()
    line = (await world.services.readings.board("choir-1"))[-1].reading_id
    room = Room(world.services, RoomOptions(port=0))
    await room.start()
    singer = visit(room)
    await sit(singer, slips[0].code)
    page = await (await singer.get(f"/reading/{line}/film")).text()
    assert "<video" in page
    assert "<form" not in page
    assert "held" not in page
    assert "/film" not in (await (await singer.get("/seat")).text()).partition("<article")[0]
    answer = await singer.post("/seat/span", {"reading": line, "beats": "1"})
    assert answer.status == 409
    await room.stop()
    assert await rows_of(world.database, "home_spans") == []


async def test_the_desk_shows_both_series_no_seat_and_no_week_of_few(world, singer, slips, line):
    curtains = world.services.play.curtains
    fallen = await curtains.fell("choir-1", line, 4.0, by_hand=False)
    await curtains.held("choir-1", fallen.number, 3)
    async with world.database.transaction() as change:
        for monday, seats in ((MONDAY, 11), (MONDAY - timedelta(weeks=1), 4)):
            week = HomeWeek(monday=monday, seats=seats, middle=4.5)
            await keep_home_week(change, "choir-1", week)
    page = await (await singer.get("/desk/choir/choir-1/span")).text()
    assert re.findall(r"<td>([^<]*)</td>", page)[1:] == ["3", "3", "1", "4.5", "11"]
    assert (page.count('class="head"'), page.count('class="home-head"')) == (1, 1)
    assert "At home" in page
    assert "Seat 1" not in page
    assert "Sep 7" not in page  # of too few


async def test_a_count_can_be_typed_at_the_desk_mended_and_taken_back(world, singer, slips, line):
    curtains = world.services.play.curtains
    fallen = await curtains.fell("choir-1", line, 4.0, by_hand=False)
    address = f"/desk/choir/choir-1/span/{fallen.number}"
    for text, held in (("2", 2), (" 3 ", 3), ("", None)):
        answer = await singer.post(address, {"beats": text})
        assert (answer.status, answer.headers["Location"]) == (
            303,
            "/desk/choir/choir-1/span?done=counted#falls",
        )
        assert [each.fall.held for each in await curtains.recent("choir-1")] == [held]
    for text in ("many", "999", "-1", "<b>"):
        answer = await singer.post(address, {"beats": text})
        assert answer.status == 422
        assert 'role="alert"' in await answer.text()
    assert (await singer.post("/desk/choir/choir-1/span/7", {"beats": "1"})).status == 422
    assert [each.fall.held for each in await curtains.recent("choir-1")] == [None]
