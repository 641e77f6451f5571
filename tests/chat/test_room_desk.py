"""The desk: set-up, settings, the coming week, own music, passphrase, status."""

import io
import re
from datetime import date, timedelta

import pytest
from aiohttp import FormData

from bot.chat.room.choir_form import server_zone
from bot.errors import Fault
from tests.chat import house

TUESDAY = "2025-11-25"


def _first_choir(**changes: object) -> dict[str, object]:
    form: dict[str, object] = {
        "name": "Period 3",
        "voices": "treble",
        "sequence": "steps-first",
        "step_pitch": "p03",
        "step_rhythm": "r02",
        "zone": "America/Chicago",
    }
    return {**form, **changes}


async def _text(response, status=200) -> str:
    text = await response.text()
    assert response.status == status, text
    return text


async def test_the_first_visit_to_the_desk_is_the_set_up_page(visitor, services):
    services.choirs.kept.clear()
    page = await _text(await visitor.get("/desk"))

    assert "Your first choir" in page
    assert re.findall(r'<details class="more-fields"( open)?>', page) == [""]
    assert 'name="passphrase"' in page


async def test_a_name_voices_and_a_step_are_enough_for_a_choir(visitor, services):
    services.choirs.kept.clear()

    response = await visitor.post("/desk/choir/new", _first_choir())

    (choir,) = services.choirs.kept.values()
    assert response.headers["Location"] == f"/desk/choir/{choir.id}?done=added"
    assert (choir.name, choir.steps.pitch, choir.zone) == ("Period 3", "p03", "America/Chicago")
    assert len(choir.id) == 16


async def test_the_form_as_it_is_shown_makes_a_choir_once_it_has_a_name(visitor, services):
    page = await _text(await visitor.get("/desk/choir/new"))

    response = await visitor.post("/desk/choir/new", {**_fields(page), "name": ["Period 5"]})

    assert response.status == 303, await response.text()
    choir = list(services.choirs.kept.values())[-1]
    assert choir.name == "Period 5"
    assert choir.meeting.pattern.days == frozenset(range(5))


def _fields(page: str) -> dict[str, list[str]]:
    """What a browser would send of a page's form, read as a browser reads it."""
    form = page[page.index('id="choir-form"') :]
    sent: dict[str, list[str]] = {}
    for tag in re.findall(r"<input[^>]*>", form):
        found = dict(re.findall(r'(\w+)="([^"]*)"', tag))
        ticked = found.get("type") not in ("checkbox", "radio") or " checked" in tag
        if ticked:
            sent.setdefault(found["name"], []).append(found.get("value", "on"))
    for name, options in re.findall(r'<select name="(\w+)".*?>(.*?)</select>', form, re.DOTALL):
        chosen = re.findall(r'value="([^"]*)" selected', options)
        sent[name] = chosen or re.findall(r'value="([^"]*)"', options)[:1]
    for name, text in re.findall(r'<textarea name="(\w+)"[^>]*>\n(.*?)</textarea>', form, re.S):
        sent[name] = [text]
    return sent


async def test_settings_kept_unchanged_leave_the_choir_as_it_was(visitor, services):
    before = services.choirs.kept["c1"]
    page = await _text(await visitor.get("/desk/choir/c1/settings"))

    response = await visitor.post("/desk/choir/c1/settings", _fields(page))

    assert response.headers["Location"] == "/desk/choir/c1?done=saved"
    assert services.choirs.kept["c1"] == before


async def test_all_faults_stand_beside_their_fields_and_nothing_typed_is_lost(visitor, services):
    form = _first_choir(name="", post_at="25:99", a4_hz="999", days_off="soon\nlater")

    page = await _text(await visitor.post("/desk/choir/new", form), 422)

    faulty = re.findall(r'id="(\w+)"[^>]* aria-invalid="true"', page)
    assert {"name", "post_at", "a4_hz", "days_off"} <= set(faulty)
    summed_up = re.findall(r'<li><a href="#(\w+)">', page)
    beside = re.findall(r'class="fault" id="(\w+)-fault-\d+"', page)
    assert sorted(summed_up) == sorted(beside)
    assert 'value="25:99"' in page
    assert "soon\nlater</textarea>" in page
    assert '<option value="p03" selected>' in page
    assert re.findall(r'<details class="more-fields"( open)?>', page) == [" open"]
    assert len(services.choirs.kept) == 1


async def test_a_passphrase_can_be_set_with_the_first_choir(visitor, services):
    services.choirs.kept.clear()

    response = await visitor.post("/desk/choir/new", _first_choir(passphrase=house.PASSPHRASE))

    assert services.desk.passphrase == house.PASSPHRASE
    assert (await visitor.get(response.headers["Location"].split("?")[0])).status == 200


async def test_a_short_passphrase_keeps_the_first_choir_waiting(visitor, services):
    services.choirs.kept.clear()

    page = await _text(await visitor.post("/desk/choir/new", _first_choir(passphrase="short")), 422)

    assert "at least 15 characters" in page
    assert 'value="short"' not in page
    assert not services.choirs.kept


async def test_the_set_up_form_cannot_change_a_passphrase(visitor, services):
    services.desk.passphrase = house.PASSPHRASE
    await visitor.sign_in()

    await visitor.post("/desk/choir/new", _first_choir(passphrase="another one of mine"))

    assert services.desk.passphrase == house.PASSPHRASE


async def test_the_desk_shows_each_choirs_week_and_what_needs_the_director(visitor, services):
    services.status.unsure = (house.MONDAY,)
    page = await _text(await visitor.get("/desk"))

    assert page.count('<li class="posted today">') == 1
    assert page.count('<li class="ready">') == 4
    assert "The line of Nov 24 may or may not have arrived." in page
    assert "Nothing needs you today." not in page


async def test_a_quiet_day_says_so(visitor):
    assert "Nothing needs you today." in await _text(await visitor.get("/desk"))


async def test_the_choirs_page_shows_five_days_with_pictures(visitor):
    page = await _text(await visitor.get("/desk/choir/c1"))

    assert len(re.findall(r'id="day-\d{4}-\d\d-\d\d"', page)) == 5
    assert f'src="/desk/choir/c1/day/{TUESDAY}/picture.svg"' in page


async def test_a_preview_is_a_picture_that_nobody_keeps(visitor):
    response = await visitor.get(f"/desk/choir/c1/day/{TUESDAY}/picture.svg")

    # The stand-in's cards are up only once posted; the picture is asked for by the card's own id.
    assert response.status == 200
    assert response.content_type == "image/svg+xml"
    assert response.headers["Cache-Control"] == "no-store"


async def test_another_line_can_be_drawn(visitor, services):
    response = await visitor.post(f"/desk/choir/c1/day/{TUESDAY}/redraw")

    assert response.headers["Location"] == "/desk/choir/c1?done=redrawn"
    assert services.readings.asked == [("redraw", "c1", date(2025, 11, 25))]
    page = await _text(await visitor.get(response.headers["Location"]))
    assert "There is a new line for that day." in page


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

    assert response.headers["Location"] == "/desk/choir/c1?done=music"
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


async def test_without_a_passphrase_the_desk_is_open_on_this_machine(visitor):
    assert (await visitor.get("/desk")).status == 200


async def test_without_a_passphrase_the_desk_is_closed_behind_a_public_address(
    open_room, services, visit
):
    room = await open_room(services, public_url="http://choir.school.example")
    visitor = visit(room)
    visitor.url = f"http://127.0.0.1:{room._parts.address.port}"

    for path in ("/desk", "/desk/sign-in", "/desk/passphrase"):
        page = await _text(await visitor.get(path), 403)
        assert "The desk is closed" in page


async def test_the_right_passphrase_opens_the_desk(visitor, services):
    services.desk.passphrase = house.PASSPHRASE
    assert (await visitor.get("/desk")).status == 401

    response = await visitor.sign_in()

    assert (response.status, response.headers["Location"]) == (303, "/desk")
    assert (await visitor.get("/desk")).status == 200


async def test_a_wrong_passphrase_opens_nothing(visitor, services):
    services.desk.passphrase = house.PASSPHRASE

    page = await _text(await visitor.sign_in("not it, not it, not it"), 403)

    assert "That is not the passphrase." in page
    assert "not it, not it" not in page
    assert (await visitor.get("/desk")).status == 401


async def test_after_five_wrong_tries_even_the_right_one_has_to_wait(visitor, services):
    services.desk.passphrase = house.PASSPHRASE
    for _ in range(5):
        await visitor.sign_in("wrong")

    response = await visitor.sign_in()

    assert response.status == 429
    assert response.headers["Retry-After"] == "31"
    assert services.desk.checks == 5
    services.clock.set(house.MONDAY_MORNING + timedelta(seconds=31))
    assert (await visitor.sign_in()).status == 303


async def test_the_desk_locks_itself_after_ten_idle_minutes(visitor, services):
    services.desk.passphrase = house.PASSPHRASE
    await visitor.sign_in()
    services.clock.set(house.MONDAY_MORNING + timedelta(minutes=9))
    assert (await visitor.get("/desk")).status == 200

    services.clock.set(house.MONDAY_MORNING + timedelta(minutes=19))

    assert (await visitor.get("/desk")).status == 401


async def test_typing_keeps_the_desk_awake(visitor, services):
    services.desk.passphrase = house.PASSPHRASE
    await visitor.sign_in()
    services.clock.set(house.MONDAY_MORNING + timedelta(minutes=9))
    assert (await visitor.post("/desk/awake")).status == 204
    services.clock.set(house.MONDAY_MORNING + timedelta(minutes=18))
    assert (await visitor.get("/desk")).status == 200


async def test_an_open_board_does_not_keep_the_desk_awake(visitor, services):
    services.desk.passphrase = house.PASSPHRASE
    await visitor.sign_in()
    services.clock.set(house.MONDAY_MORNING + timedelta(minutes=9))
    await visitor.get("/choir/c1")
    services.clock.set(house.MONDAY_MORNING + timedelta(minutes=11))
    assert (await visitor.get("/desk")).status == 401


async def test_the_desk_can_be_locked_by_hand(visitor, services):
    services.desk.passphrase = house.PASSPHRASE
    await visitor.sign_in()

    await visitor.post("/desk/sign-out")

    assert (await visitor.get("/desk")).status == 401


async def test_what_was_typed_survives_a_lock_in_between(visitor, services):
    services.desk.passphrase = house.PASSPHRASE
    form = _first_choir(name="Tenors & Basses", days_off="2025-12-01\n2025-12-02")

    locked = await _text(await visitor.post("/desk/choir/new", form), 401)
    kept = dict(re.findall(r'<textarea hidden name="([^"]+)">\n(.*?)</textarea>', locked, re.S))
    assert kept["kept.name"] == "Tenors &amp; Basses"
    assert kept["kept.days_off"] == "2025-12-01\n2025-12-02"
    data = {name: text.replace("&amp;", "&") for name, text in kept.items()}
    data |= {"passphrase": house.PASSPHRASE, "next": "/desk/choir/new"}
    back = await _text(await visitor.post("/desk/sign-in", data))

    assert 'action="/desk/choir/new"' in back
    assert re.search(r'name="name">\nTenors &amp; Basses</textarea>', back)
    assert "passphrase" not in re.findall(r'<textarea hidden name="([^"]+)"', back)


async def test_a_passphrase_on_its_way_is_never_written_into_a_page(visitor, services):
    services.desk.passphrase = house.PASSPHRASE
    data = {"old": house.PASSPHRASE, "new": "a brand new passphrase", "again": "a brand new"}

    page = await _text(await visitor.post("/desk/passphrase", data), 401)

    assert house.PASSPHRASE not in page
    assert "brand new" not in page


async def test_the_first_passphrase_needs_no_old_one(visitor, services):
    data = {"new": house.PASSPHRASE, "again": house.PASSPHRASE}
    response = await visitor.post("/desk/passphrase", data)

    assert response.headers["Location"] == "/desk?done=passphrase"
    assert services.desk.passphrase == house.PASSPHRASE
    assert (await visitor.get("/desk")).status == 200


async def test_a_new_passphrase_asks_for_the_old_one_and_locks_everybody_else_out(
    room, visit, services
):
    services.desk.passphrase = house.PASSPHRASE
    here, elsewhere = visit(room), visit(room)
    await here.sign_in()
    await elsewhere.sign_in()
    new = {"new": "four other words together", "again": "four other words together"}

    wrong = await here.post("/desk/passphrase", {**new, "old": "never mind"})
    right = await here.post("/desk/passphrase", {**new, "old": house.PASSPHRASE})

    assert (wrong.status, right.status) == (422, 303)
    assert services.desk.passphrase == "four other words together"
    assert (await here.get("/desk")).status == 200
    assert (await elsewhere.get("/desk")).status == 401


async def test_two_different_new_passphrases_are_a_fault(visitor, services):
    data = {"new": house.PASSPHRASE, "again": "something else here"}
    page = await _text(await visitor.post("/desk/passphrase", data), 422)

    assert "The two differ." in page
    assert services.desk.passphrase is None


async def test_an_example_line_follows_the_chosen_steps(visitor):
    query = {"voices": "treble", "sequence": "steps-first", "step_pitch": "p03"}
    response = await visitor.get("/desk/example.svg", params=query)
    assert (response.status, response.content_type) == (200, "image/svg+xml")


async def test_steps_that_make_no_line_give_no_example(visitor):
    query = [("voices", v) for v in ("treble", "changing", "baritone")]
    query += [("sequence", "steps-first"), ("step_pitch", "p01")]
    response = await visitor.get("/desk/example.svg", params=query)
    assert response.status == 409


def test_the_machines_zone_is_read_from_where_its_clock_points(tmp_path):
    zone = tmp_path / "zoneinfo" / "America" / "Chicago"
    zone.parent.mkdir(parents=True)
    zone.touch()
    link = tmp_path / "localtime"
    link.symlink_to(zone)

    assert server_zone(link) == "America/Chicago"
    assert server_zone(tmp_path / "nowhere") == "UTC"


async def test_todays_line_that_may_not_have_arrived_can_be_sent_again(visitor, services):
    services.status.unsure = (house.MONDAY,)
    page = await _text(await visitor.get("/desk/choir/c1"))
    assert page.count("It is not there: post it again") == 1

    services.status.unsure = (house.MONDAY - timedelta(days=3),)
    page = await _text(await visitor.get("/desk/choir/c1"))
    assert "post it again</button>" not in page
