"""The singers' door as addresses: guessing, replay, other sites, what a page may show."""

import re
from datetime import timedelta

import pytest

from bot.chat.room import seat_routes
from bot.chat.room.server import Room, RoomOptions
from tests.chat.seated_room import room, singer, sit, slips, visit, world
from tests.fakes.world import NINE
from tests.service.seated import rows_of

__all__ = ["room", "singer", "slips", "visit", "world"]

_GAPS = {"choir": "choir-1", "number": "1", "sheet": "sheet-1"}


async def test_a_code_opens_the_singers_own_page(singer, slips):
    answer = await sit(singer, slips[0].code)

    assert (answer.status, answer.headers["Location"]) == (303, "/seat")
    page = await (await singer.get("/seat")).text()
    assert "Seat 1" in page
    assert "Have you read today" in page
    assert slips[0].code not in page


async def test_on_a_day_without_a_meeting_a_seat_says_when_the_next_line_comes(
    world, singer, slips
):
    world.clock.set(NINE + timedelta(days=5))
    await world.assembly.scheduler.round()
    await sit(singer, slips[0].code)

    page = await (await singer.get("/seat")).text()

    assert "No meeting today. The next line comes Monday, September 21 at" in page


async def test_the_cookie_is_closed_to_scripts_and_to_other_sites(singer, slips):
    cookie = (await sit(singer, slips[0].code)).headers["Set-Cookie"]

    assert re.match(r"riserbell-seat=[\w-]{22}; HttpOnly; Path=/; SameSite=Strict$", cookie)


async def test_a_remembered_device_keeps_its_cookie_for_the_term(singer, slips):
    cookie = (await sit(singer, slips[0].code, remember="yes")).headers["Set-Cookie"]

    assert int(re.search(r"Max-Age=(\d+)", cookie)[1]) > 86_400 * 100


async def test_behind_https_the_cookie_is_bound_to_its_host(world, slips, visit):
    proxied = Room(world.services, RoomOptions(port=0, public_url="https://choir.example.org"))
    await proxied.start()
    local = visit(proxied)
    local.url = f"http://127.0.0.1:{proxied._parts.address.port}"
    answer = await local.session.post(
        local.url + "/seat",
        data={"code": slips[0].code},
        headers={"Host": "choir.example.org", "Origin": "https://choir.example.org"},
        allow_redirects=False,
    )
    await proxied.stop()

    assert answer.headers["Set-Cookie"].startswith("__Host-riserbell-seat=")
    assert "; Secure" in answer.headers["Set-Cookie"]


async def test_a_wrong_code_is_told_so_and_sets_no_cookie(singer, slips):
    answer = await sit(singer, "0000-0000")

    assert answer.status == 403
    assert "Set-Cookie" not in answer.headers
    page = await answer.text()
    assert "That code opens no seat" in page
    assert 'value="0000-0000"' in page  # to be mended, not typed anew on a phone
    assert 'value="&#34;&gt;&lt;b&gt;"' in await (await sit(singer, '"><b>')).text()


async def test_guessing_has_to_wait_and_a_right_code_with_it(singer, slips):
    for _ in range(5):
        assert (await sit(singer, "0000-0000")).status == 403

    answer = await sit(singer, slips[0].code)

    assert (answer.status, answer.headers["Retry-After"]) == (429, "31")


async def test_after_the_wait_the_right_code_opens(world, singer, slips):
    for _ in range(5):
        await sit(singer, "0000-0000")
    world.clock.set(NINE + timedelta(seconds=31))

    assert (await sit(singer, slips[0].code)).status == 303


async def test_a_hundred_guesses_close_the_door_and_leave_those_inside_alone(
    world, visit, room, singer, slips
):
    inside, director = visit(room), visit(room)
    await sit(inside, slips[0].code)
    statuses = []
    for number in range(110):
        world.clock.set(NINE + timedelta(seconds=20 * number))
        statuses.append((await sit(singer, "no code at all")).status)
        await inside.get("/seat")

    assert statuses[-1] == 429
    assert (await inside.get("/seat")).status == 200
    assert "Seat 1" in await (await inside.get("/seat")).text()
    page = await (await director.get("/desk/choir/choir-1/seats")).text()
    assert "A hundred wrong codes" in page
    await director.post("/desk/choir/choir-1/reopen")
    assert (await sit(singer, slips[1].code)).status == 303


async def test_a_device_that_goes_on_to_another_seat_leaves_the_first(world, singer, slips):
    await sit(singer, slips[0].code)
    assert "Take your seat" in await (await singer.get("/seat?another")).text()

    await sit(singer, slips[1].code)

    assert "Seat 2" in await (await singer.get("/seat")).text()
    assert len(await rows_of(world.database, "seat_sessions")) == 1


async def test_a_token_that_was_used_up_cannot_be_replayed(singer, slips, room):
    await sit(singer, slips[0].code)
    old = {cookie.key: cookie.value for cookie in singer.session.cookie_jar}
    await singer.post("/seat/leave")

    answer = await singer.get("/seat", cookies=old)

    assert "Take your seat" in await answer.text()


async def test_a_tap_that_is_sent_again_counts_once(world, singer, slips):
    await sit(singer, slips[0].code)
    wish = {"on": "2026-09-14", "went": "steady"}

    for _ in range(3):
        assert (await singer.post("/seat/tap", wish)).status == 303

    assert len(await rows_of(world.database, "taps")) == 1


async def test_a_tap_without_a_seat_keeps_nothing(world, singer):
    answer = await singer.post("/seat/tap", {"on": "2026-09-14", "went": "steady"})

    assert answer.status == 403
    assert await rows_of(world.database, "taps") == []


@pytest.mark.parametrize(
    "wish", [{}, {"on": "today", "went": "steady"}, {"on": "2026-09-14", "went": "<b>"}]
)
async def test_a_tap_that_makes_no_sense_is_refused(singer, slips, wish):
    await sit(singer, slips[0].code)

    assert (await singer.post("/seat/tap", wish)).status == 400


@pytest.mark.parametrize("path", [path for path, _ in seat_routes.OPEN_CHANGES])
@pytest.mark.parametrize(
    "headers",
    [
        {"Origin": "https://elsewhere.example"},
        {"Origin": "null"},
        {"Sec-Fetch-Site": "cross-site"},
        {"Sec-Fetch-Site": "same-site"},
    ],
    ids=str,
)
async def test_another_site_changes_nothing_in_a_singers_name(world, singer, slips, path, headers):
    await sit(singer, slips[0].code)
    fields = {"code": slips[1].code, "on": "2026-09-14", "went": "steady", "sure": "yes"}

    answer = await singer.post(path, fields, headers=headers)

    assert answer.status == 403
    assert await rows_of(world.database, "taps") == []
    assert len(await rows_of(world.database, "seats")) == 3
    assert "Seat 1" in await (await singer.get("/seat")).text()


@pytest.mark.parametrize(
    ("method", "path"),
    [
        *(("get", path) for path, _ in seat_routes.DESK_PAGES),
        *(("post", path) for path, _ in seat_routes.DESK_CHANGES),
    ],
)
async def test_everything_of_the_desk_is_locked(world, singer, slips, method, path):
    await world.services.desk.set_passphrase("cabbage violet ladder nineteen")
    await sit(singer, slips[0].code)
    address = re.sub(r"\{(\w+):(?:[^{}]|\{[^{}]*\})*\}", lambda gap: _GAPS[gap[1]], path)

    answer = await getattr(singer, method)(address)

    assert answer.status == 401
    assert len(await rows_of(world.database, "seats")) == 3


async def test_no_page_of_a_singer_is_kept_by_a_browser_or_shows_another_seat(singer, slips):
    await sit(singer, slips[1].code)

    for path in ("/seat", "/seat/data"):
        answer = await singer.get(path)
        assert answer.headers["Cache-Control"] == "no-store"
        assert set(re.findall(r"[Ss]eat (\d)", await answer.text())) == {"2"}


async def test_my_data_and_forgetting_take_two_taps(world, singer, slips):
    await sit(singer, slips[0].code)
    await singer.post("/seat/tap", {"on": "2026-09-14", "went": "bumpy"})
    assert "September 14, 2026: Bumpy" in await (await singer.get("/seat/data")).text()

    asked = await singer.post("/seat/forget")
    assert (asked.status, len(await rows_of(world.database, "seats"))) == (200, 3)
    done = await singer.post("/seat/forget", {"sure": "yes"})

    assert done.headers["Location"] == "/seat?done=forgotten"
    assert [row[2] for row in await rows_of(world.database, "seats")] == [2, 3]
    assert "is forgotten" in await (await singer.get("/seat?done=forgotten")).text()
