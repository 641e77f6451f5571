"""The desk: set-up, settings, the coming week, own music, passphrase, status."""

import io
import re
from datetime import date, timedelta

import pytest
from aiohttp import FormData

from bot.errors import Fault
from tests.chat import house

TUESDAY = "2025-11-25"
ON_TUESDAY = f"&day={TUESDAY}#day-{TUESDAY}"


async def _text(response, status=200) -> str:
    text = await response.text()
    assert response.status == status, text
    return text


async def test_the_desk_shows_each_choirs_week_and_what_needs_the_director(visitor, services):
    services.status.unsure = (house.MONDAY,)
    page = await _text(await visitor.get("/desk"))

    assert page.count('<li class="posted today">') == 1
    assert page.count('<li class="ready">') == 4
    assert "The line of Nov 24 may or may not have arrived." in page
    assert "Nothing needs you today." not in page


async def test_a_quiet_day_says_so(visitor):
    assert "Nothing needs you today." in await _text(await visitor.get("/desk"))


async def test_dates_in_examples_are_of_this_school_year(visitor, services):
    assert "2025-12-22 to 2026-01-02" in await _text(await visitor.get("/desk/choir/c1/settings"))
    services.clock.set(house.MONDAY_MORNING + timedelta(days=250))  # in August
    assert "2026-12-22 to 2027-01-02" in await _text(await visitor.get("/desk/choir/c1/settings"))


async def test_the_choirs_page_shows_five_days_with_pictures(visitor):
    page = await _text(await visitor.get("/desk/choir/c1"))

    assert len(re.findall(r'id="day-\d{4}-\d\d-\d\d"', page)) == 5
    assert f'src="/desk/choir/c1/day/{TUESDAY}/sheet.svg"' in page


async def test_a_preview_is_a_picture_that_nobody_keeps(visitor):
    response = await visitor.get(f"/desk/choir/c1/day/{TUESDAY}/sheet.svg")

    # The stand-in's cards are up only once posted; the picture is asked for by the card's own id.
    assert response.status == 200
    assert response.content_type == "image/svg+xml"
    assert response.headers["Cache-Control"] == "no-store"


async def test_only_a_line_whose_time_has_come_goes_up_in_a_moment(visitor, services):
    services.readings.clock.set(house.MONDAY_MORNING + timedelta(days=1))
    page = await _text(await visitor.get("/desk/choir/c1"))
    tuesday, wednesday = page.split('id="day-')[1:3]
    assert tuesday.startswith(TUESDAY)
    assert "Goes up in a moment." in tuesday
    assert "Goes up in a moment." not in wednesday


async def test_another_line_can_be_drawn(visitor, services):
    response = await visitor.post(f"/desk/choir/c1/day/{TUESDAY}/redraw")

    assert response.headers["Location"] == f"/desk/choir/c1?done=redrawn{ON_TUESDAY}"
    assert services.readings.asked == [("redraw", "c1", date(2025, 11, 25))]
    page = await _text(await visitor.get(response.headers["Location"]))
    (told,) = re.findall(r'class="leaf">\s*<p class="done"[^>]*>([^<]*)', page)
    assert told == "There is a new line for that day."
    assert page.count(told) == 1


async def test_a_line_that_is_up_cannot_be_redrawn_and_the_page_says_why(visitor, services):
    page = await _text(await visitor.post("/desk/choir/c1/day/2025-11-24/redraw"), 409)
    assert 'role="alert"' in page
    assert services.readings.asked == []


async def test_todays_line_can_be_posted_at_once(visitor, services):
    response = await visitor.post("/desk/choir/c1/post")

    assert response.headers["Location"] == "/desk/choir/c1?done=posted"
    assert services.readings.asked == [("post", "c1")]


@pytest.mark.parametrize("day", ["2025-13-45", "0000-00-00"])
async def test_a_day_that_is_none_is_not_there(visitor, day):
    assert (await visitor.post(f"/desk/choir/c1/day/{day}/redraw")).status == 404


def _music(data: bytes, name: str = "warm-up.musicxml") -> FormData:
    form = FormData()
    form.add_field("file", io.BytesIO(data), filename=name, content_type="application/octet-stream")
    return form


async def test_own_music_becomes_the_reading_of_a_day(visitor, services):
    path = f"/desk/choir/c1/day/{TUESDAY}/music"
    response = await visitor.post(path, _music(b"<score-partwise/>"))

    assert response.headers["Location"] == f"/desk/choir/c1?done=music{ON_TUESDAY}"
    assert services.readings.asked == [
        ("music", "c1", date(2025, 11, 25), b"<score-partwise/>", "warm-up.musicxml")
    ]


async def test_every_fault_of_own_music_stands_beside_the_file(visitor, services):
    services.readings.own_faults = (
        Fault(place="measure 3, beat 2", problem="A5 is too high for Part I"),
        Fault(place="measure 7", problem="five quarters in a 4/4 measure"),
    )

    page = await _text(
        await visitor.post(f"/desk/choir/c1/day/{TUESDAY}/music", _music(b"<x/>")), 422
    )

    day = page[page.index(f'id="day-{TUESDAY}"') :].split("</li>")[0]
    assert "measure 3, beat 2: A5 is too high for Part I" in day
    assert "measure 7: five quarters in a 4/4 measure" in day
    assert f'aria-describedby="file-hint-{TUESDAY} file-fault-{TUESDAY}-1' in day


@pytest.mark.parametrize(("size", "status"), [(2 * 1024 * 1024, 303), (2 * 1024 * 1024 + 1, 422)])
async def test_own_music_may_have_two_mebibytes_and_not_a_byte_more(visitor, size, status):
    response = await visitor.post(f"/desk/choir/c1/day/{TUESDAY}/music", _music(b"x" * size))
    assert response.status == status


async def test_a_file_of_no_reasonable_size_is_not_read_to_its_end(visitor, services):
    response = await visitor.post(
        f"/desk/choir/c1/day/{TUESDAY}/music", _music(b"x" * (17 * 1024 * 1024))
    )
    assert response.status == 413
    assert services.readings.asked == []


async def test_no_file_at_all_is_said_beside_the_field(visitor):
    page = await _text(
        await visitor.post(f"/desk/choir/c1/day/{TUESDAY}/music", _music(b"", "")), 422
    )
    assert "No file was chosen." in page


async def test_a_choir_is_removed_only_after_the_question(visitor, services):
    page = await _text(await visitor.get("/desk/choir/c1/remove"))
    assert "Remove Period 3 Treble?" in page
    assert services.choirs.kept

    response = await visitor.post("/desk/choir/c1/remove")

    assert response.headers["Location"] == "/desk?done=removed"
    assert not services.choirs.kept


async def test_the_status_page_tells_the_last_and_the_next_posting(visitor, services):
    services.status.missed = (date(2025, 11, 20), date(2025, 11, 21))
    page = await _text(await visitor.get("/desk/status"))

    assert "Monday, November 24, 8:00 AM" in page
    assert "Tuesday, November 25, 8:00 AM" in page
    assert "The lines of Nov 20, Nov 21 were not posted" in page
    assert "4.2 MB" in page


async def test_todays_line_that_may_not_have_arrived_can_be_sent_again(visitor, services):
    services.status.unsure = (house.MONDAY,)
    page = await _text(await visitor.get("/desk/choir/c1"))
    assert page.count("It is not there: post it again") == 1

    services.status.unsure = (house.MONDAY - timedelta(days=3),)
    page = await _text(await visitor.get("/desk/choir/c1"))
    assert "post it again</button>" not in page


async def test_a_line_is_pinned_and_let_go_in_one_press_each(visitor, services):
    pin = f"/desk/choir/c1/day/{TUESDAY}/pin"
    answer = await visitor.post(pin)
    assert answer.headers["Location"] == f"/desk/choir/c1?done=pinned{ON_TUESDAY}"
    page = await _text(await visitor.get("/desk/choir/c1"))
    assert "Take the pin out" in page
    assert f'action="/desk/choir/c1/day/{TUESDAY}/redraw"' not in page
    assert f'action="/desk/choir/c1/day/{TUESDAY}/step"' not in page

    answer = await visitor.post(pin, {"off": "yes"})

    assert answer.headers["Location"] == f"/desk/choir/c1?done=unpinned{ON_TUESDAY}"
    assert services.readings.pinned == set()


async def test_a_day_is_swapped_to_another_step_with_two_choices(visitor, services):
    page = await _text(await visitor.get("/desk/choir/c1"))
    assert f'<select name="step_pitch" id="step_pitch-{TUESDAY}">' in page

    form = {"step_pitch": "p02", "step_rhythm": "r01"}
    answer = await visitor.post(f"/desk/choir/c1/day/{TUESDAY}/step", form)

    assert answer.headers["Location"] == f"/desk/choir/c1?done=swapped{ON_TUESDAY}"
    assert services.readings.asked == [("swap", "c1", date(2025, 11, 25), "p02", "r01")]


async def test_what_cannot_be_swapped_is_told_on_the_page(visitor, services):
    services.readings.pinned.add(date(2025, 11, 25))
    page = await _text(await visitor.post(f"/desk/choir/c1/day/{TUESDAY}/step"), 409)
    assert "This line is pinned to its day." in page
