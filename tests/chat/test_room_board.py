"""The board: sheets, sounds and words in its HTML, news without a reload, media kept for ever."""

import asyncio
import re
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from bot.errors import RenderFailed
from bot.music.voice import Clef
from bot.service.card import Media
from tests.chat import house

FRIDAY, SATURDAY = date(2025, 11, 21), datetime(2025, 11, 22, 15, 0, tzinfo=UTC)


async def _page(visitor, path="/") -> str:
    response = await visitor.get(path)
    assert response.status == 200
    return await response.text()


async def test_the_board_of_the_one_choir_is_the_front_page(visitor):
    page = await _page(visitor)

    assert "<h1>Period 3 Treble</h1>" in page
    assert "Monday, November 24" in page
    assert page == await _page(visitor, "/choir/c1")


async def test_picture_players_and_words_stand_in_the_html(visitor):
    page = await _page(visitor, "/reading/c1-20251124")

    assert re.search(r'<img src="/media/c1-20251124/together/0/picture\.svg\?v=\w{8}"', page)
    assert re.search(r'srcset="/media/c1-20251124/together/0/phone\.svg', page)
    assert len(re.findall(r"<audio controls preload=\"none\"", page)) == 6
    assert "autoplay" not in page
    assert "four quarter notes" in page
    assert re.search(r'alt="[^"]*F major, 4/4, 8 measures', page)


async def test_the_starting_note_comes_only_after_a_second_press(visitor):
    page = await _page(visitor, "/reading/c1-20251124")
    behind = re.findall(r"<details class=\"start\">.*?</details>", page, re.DOTALL)

    assert len(behind) == 3
    assert all("pitch.mp3" in part and "You start on F" in part for part in behind)
    assert "pitch.mp3" not in re.sub(
        r"<details class=\"start\">.*?</details>", "", page, flags=re.S
    )


async def test_a_hidden_starting_note_is_not_in_the_page_at_all(visitor, services):
    services.readings.up[-1] = replace(services.readings.up[-1], gives_pitch=False)
    page = await _page(visitor, "/reading/c1-20251124")

    assert "pitch.mp3" not in page
    assert "Find your first note from do." in page


async def test_no_child_sees_the_name_of_a_voice(visitor):
    for path in ("/", "/reading/c1-20251124", "/reading/c1-20251124/part/2", "/choir/c1/folder"):
        page = (await _page(visitor, path)).replace("Period 3 Treble", "")
        assert not re.search(r"changing|baritone|treble", page, re.IGNORECASE)


@pytest.mark.parametrize(
    ("asked", "part"), [("", 0), ("?part=2", 1), ("?part=9", 2), ("?part=0", 0), ("?part=x", 0)]
)
async def test_the_staff_can_be_written_for_any_part(visitor, asked, part):
    for path in ("/", "/choir/c1", "/reading/c1-20251124"):
        page = await _page(visitor, path + asked)
        assert f"/media/c1-20251124/together/{part}/picture.svg" in page
        assert f'<a href="?part={part + 1}" aria-current="true">' in page


async def test_no_choice_of_staff_is_offered_where_all_parts_have_one_clef(visitor, services):
    choir = services.choirs.kept["c1"]
    voices = tuple(replace(voice, clef=Clef.TREBLE) for voice in choir.voices)
    services.choirs.kept["c1"] = replace(choir, voices=voices)
    assert "Written for" not in await _page(visitor)


async def test_the_newest_sheet_is_last_and_the_only_one_unfolded(visitor):
    page = await _page(visitor)
    sheets = re.findall(r'<details class="sheet[^"]*" data-reading="([^"]+)"( open)?', page)

    assert [reading for reading, _ in sheets] == [
        "c1-20251118", "c1-20251119", "c1-20251120", "c1-20251121", "c1-20251124",
    ]  # fmt: skip
    assert [bool(unfolded) for _, unfolded in sheets] == [False, False, False, False, True]


async def test_flats_are_drawn_and_named_for_those_who_listen(visitor):
    page = await _page(visitor, "/reading/c1-20251124/part/1")
    assert "♭" not in re.sub(r'alt="[^"]*"', "", page)
    assert '<span class="heard"> flat</span>' in page


async def test_a_part_at_home_has_its_own_key_picture_and_sounds(visitor):
    page = await _page(visitor, "/reading/c1-20251124/part/2")

    assert "C major" in page
    assert "/media/c1-20251124/apart/1/picture.svg" in page
    assert "/media/c1-20251124/apart/1/key.mp3" in page
    assert "together" not in page


@pytest.mark.parametrize(
    "path",
    [
        "/choir/nobody",
        "/reading/nothing",
        "/reading/c1-20251124/part/9",
        "/reading/c1-20251124/part/0",
        "/media/nothing/together/0/picture.svg",
        "/media/c1-20251124/together/9/picture.svg",
    ],
)
async def test_what_is_not_there_is_a_page_that_says_so(visitor, path):
    response = await visitor.get(path)

    assert response.status == 404
    assert "Back to the board" in await response.text()


async def test_an_empty_board_says_what_will_stand_there(visitor, services):
    services.readings.up = []
    assert "The first line will stand here." in await _page(visitor)


async def test_a_day_without_a_meeting_says_when_the_next_line_comes(visitor, services):
    services.readings.up.pop()
    services.clock.set(SATURDAY)

    page = await _page(visitor)

    assert "No meeting today. The next line comes Monday, November 24 at 8:00 AM." in page
    assert "Friday, November 21" in page


async def test_before_the_posting_time_the_board_says_when_todays_line_comes(visitor, services):
    services.readings.up.pop()
    services.clock.set(datetime(2025, 11, 24, 13, 0, tzinfo=UTC))
    assert "Today’s line comes at 8:00 AM." in await _page(visitor)


async def test_several_choirs_are_a_list_of_boards(visitor, services):
    services.choirs.kept["c2"] = house.a_choir("c2", "Tenor-Bass Choir")
    page = await _page(visitor)

    assert 'href="/choir/c1"' in page
    assert 'href="/choir/c2"' in page
    assert "nothing up yet" in page


async def test_without_a_choir_the_director_is_led_to_the_desk(visitor, services):
    services.choirs.kept.clear()
    response = await visitor.get("/")
    assert (response.status, response.headers["Location"]) == (303, "/desk")


async def test_the_folder_lists_every_sheet(visitor):
    page = await _page(visitor, "/choir/c1/folder")
    assert len(re.findall(r'href="/reading/c1-\d+"', page)) == 5


@pytest.mark.parametrize(
    ("kind", "content_type"),
    [
        (Media.PICTURE_SVG, "image/svg+xml"),
        (Media.PHONE_PICTURE, "image/svg+xml"),
        (Media.PICTURE, "image/png"),
        (Media.KEY_SOUND, "audio/mpeg"),
        (Media.PITCH_SOUND, "audio/mpeg"),
    ],
)
async def test_media_are_typed_and_cannot_run_anything(visitor, kind, content_type):
    response = await visitor.get(f"/media/c1-20251124/together/0/{kind.value}")

    assert response.content_type == content_type
    assert "sandbox" in response.headers["Content-Security-Policy"]


async def test_media_named_by_the_sheet_are_kept_for_ever(visitor):
    page = await _page(visitor)
    (picture, *_) = re.findall(r'src="(/media/[^"]+picture\.svg\?v=\w+)"', page)

    response = await visitor.get(picture)

    assert response.headers["Cache-Control"] == "private, max-age=31536000, immutable"


async def test_media_change_their_address_when_the_choir_changes_its_looks(visitor, services):
    before = re.findall(r"\?v=(\w+)", await _page(visitor))
    choir = services.choirs.kept["c1"]
    looks = replace(choir.presentation, mark_do=False)
    services.choirs.kept["c1"] = replace(choir, presentation=looks)

    after = re.findall(r"\?v=(\w+)", await _page(visitor))

    assert set(before).isdisjoint(after)


async def test_media_asked_for_without_the_mark_are_asked_for_again(visitor):
    path = "/media/c1-20251124/together/0/key.mp3"
    first = await visitor.get(path)
    again = await visitor.get(path, headers={"If-None-Match": first.headers["ETag"]})

    assert first.headers["Cache-Control"] == "no-cache"
    assert again.status == 304


@pytest.mark.parametrize(
    ("asked", "status", "answered"),
    [
        ("bytes=0-9", 206, "bytes 0-9/{size}"),
        ("bytes=10-", 206, "bytes 10-{last}/{size}"),
        ("bytes=-5", 206, "bytes {tail}-{last}/{size}"),
        ("bytes=9999999-", 416, "bytes */{size}"),
    ],
)
async def test_a_player_gets_the_stretch_of_sound_it_asks_for(visitor, asked, status, answered):
    size = len(house.sound())
    path = "/media/c1-20251124/together/0/key.mp3"

    response = await visitor.get(path, headers={"Range": asked})

    assert response.status == status
    expected = answered.format(size=size, last=size - 1, tail=size - 5)
    assert response.headers["Content-Range"] == expected


async def test_a_sound_that_cannot_be_made_just_now_says_try_again(visitor, services):
    services.readings.broken = RenderFailed("the engraver is gone")
    response = await visitor.get("/media/c1-20251124/together/0/key.mp3")
    assert response.status == 503


async def test_health_says_ok_and_nothing_else(visitor):
    response = await visitor.get("/healthz")
    assert (response.status, await response.text()) == (200, "ok\n")


async def _next_event(stream) -> tuple[str, str]:
    block = (await asyncio.wait_for(stream.content.readuntil(b"\n\n"), 5)).decode()
    fields = dict(line.partition(": ")[::2] for line in block.splitlines())
    return fields["event"], fields["data"]


async def test_a_live_board_hears_what_is_up_and_what_goes_up(visitor, services, room):
    async with visitor.session.get(visitor.url + "/choir/c1/live") as stream:
        assert stream.content_type == "text/event-stream"
        assert await _next_event(stream) == ("newest", "c1-20251124")

        card = house.a_card(services.choirs.kept["c1"], house.MONDAY + timedelta(days=1))
        assert await room.post(card, "nonce") == card.reading_id

        assert await _next_event(stream) == ("newest", card.reading_id)


async def test_a_live_board_hears_nothing_of_another_choir(visitor, services, room):
    services.choirs.kept["c2"] = house.a_choir("c2", "Tenor-Bass Choir")
    async with visitor.session.get(visitor.url + "/choir/c1/live") as stream:
        await _next_event(stream)

        await room.post(house.a_card(services.choirs.kept["c2"], house.MONDAY), "n")
        card = house.a_card(services.choirs.kept["c1"], house.MONDAY + timedelta(days=1))
        await room.post(card, "m")

        assert await _next_event(stream) == ("newest", card.reading_id)


async def test_a_posted_card_is_on_the_board_before_its_delivery_is_written_down(
    visitor, services, room
):
    card = house.a_card(services.choirs.kept["c1"], house.MONDAY + timedelta(days=1))
    await room.post(card, "nonce")

    page = await _page(visitor)

    assert page.count("data-reading=") == 6
    assert page.rindex(card.reading_id) > page.rindex("c1-20251124")


async def test_a_card_posted_twice_stands_on_the_board_once(visitor, services, room):
    card = services.readings.up[-1]
    await room.post(card, "nonce")
    await room.post(card, "nonce")
    assert (await _page(visitor)).count("data-reading=") == 5


async def test_the_room_finds_a_card_by_what_its_board_shows(services, room):
    card = services.readings.up[-1]
    tomorrow = house.a_card(services.choirs.kept["c1"], house.MONDAY + timedelta(days=1))

    assert await room.find(card) == card.reading_id
    assert await room.find(tomorrow) is None


async def test_the_room_stops_at_once_while_boards_are_live(open_room, services, visit):
    room = await open_room(services)
    visitor = visit(room)
    async with visitor.session.get(visitor.url + "/choir/c1/live") as stream:
        await _next_event(stream)
        async with asyncio.timeout(3):
            await room.stop()
        assert await stream.content.read() == b""
