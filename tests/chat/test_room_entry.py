"""Getting into the desk: passphrase, patience, the lock after ten minutes."""

import re
from datetime import timedelta

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
