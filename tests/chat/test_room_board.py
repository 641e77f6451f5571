"""The board: sheets, sounds and words in its HTML, news without a reload, media kept for ever."""

import re
from dataclasses import replace
from datetime import UTC, date, datetime

import pytest

from bot.music.voice import Clef
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
    assert len(re.findall(r"<audio controls preload=\"none\"", page)) == 7
    assert "autoplay" not in page
    assert "four quarter notes" in page
    assert re.search(r'alt="[^"]*F major, 4/4, 8 measures', page)


async def test_the_starting_note_comes_only_after_a_second_press(visitor):
    page = await _page(visitor, "/reading/c1-20251124")
    behind = re.findall(r"<details class=\"start\">.*?</details>", page, re.DOTALL)

    assert len(behind) == 4  # one for each part, and one for the way from the right
    assert all("pitch.mp3" in part for part in behind)
    assert ["You start on F" in part for part in behind] == [True, True, True, False]
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


async def test_health_says_ok_and_nothing_else(visitor):
    response = await visitor.get("/healthz")
    assert (response.status, await response.text()) == (200, "ok\n")
