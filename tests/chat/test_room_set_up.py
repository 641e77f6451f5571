"""The set-up form at the desk: a first choir, settings, faults beside their fields."""

import re

from bot.music.voice import Clef, Voice
from bot.service.zone import machine_zone
from tests.chat import house


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


async def test_each_voice_ticked_in_the_form_as_it_is_shown_has_its_usual_clef(visitor, services):
    page = await _text(await visitor.get("/desk/choir/new"))
    wish = {**_fields(page), "name": ["Period 5"], "voices": ["changing", "baritone"]}

    response = await visitor.post("/desk/choir/new", wish)

    assert response.status == 303, await response.text()
    choir = list(services.choirs.kept.values())[-1]
    assert [(one.voice, one.clef) for one in choir.voices] == [
        (Voice.CHANGING, Clef.TREBLE8),
        (Voice.BARITONE, Clef.BASS),
    ]


async def test_settings_kept_unchanged_leave_the_choir_as_it_was(visitor, services):
    before = services.choirs.kept["c1"]
    page = await _text(await visitor.get("/desk/choir/c1/settings"))

    response = await visitor.post("/desk/choir/c1/settings", _fields(page))

    assert response.headers["Location"] == "/desk/choir/c1?done=saved"
    assert services.choirs.kept["c1"] == before


async def test_a_name_that_another_choir_has_is_refused_beside_its_field(visitor, services):
    taken = services.choirs.kept["c1"].name
    before = dict(services.choirs.kept)

    page = await _text(await visitor.post("/desk/choir/new", _first_choir(name=taken.upper())), 422)

    assert re.findall(r'<li><a href="#(\w+)">Another choir has this name', page) == ["name"]
    assert services.choirs.kept == before


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

    assert machine_zone(link) == "America/Chicago"
    assert machine_zone(tmp_path / "nowhere") == "UTC"
