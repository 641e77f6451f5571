"""The stage's addresses: behind the desk's lock, with tickets, and with nothing private on it."""

import json
import re
from datetime import timedelta
from html import unescape

import pytest

from bot.activities.routine_table import routine_table
from bot.chat.room.stage_ticket import HEADER
from bot.errors import NoExercise
from tests.chat import house


async def a_stage(visitor, path="/stage/c1"):
    """The page and what its script works with."""
    page = await (await visitor.get(path)).text()
    score = json.loads(unescape(re.search(r'data-score="([^"]*)"', page)[1]))
    return page, score


async def test_the_stage_opens_on_the_choir_that_meets_now(visitor):
    response = await visitor.get("/stage")
    assert (response.status, response.headers["Location"]) == (303, "/stage/c1")
    page, score = await a_stage(visitor)
    assert "Period 3 Treble" in page
    assert len(score["states"]) == len(routine_table(8, hearing=True).states)


async def test_without_a_choir_the_stage_says_so_and_shows_no_desk(visitor, services):
    services.choirs.kept.clear()
    response = await visitor.get("/stage")
    assert response.status == 200
    assert "No choir is set up yet." in await response.text()


async def test_the_stage_stands_behind_the_desks_lock_and_is_opened_by_it(visit, room, services):
    services.desk.passphrase = house.PASSPHRASE
    visitor = visit(room)
    locked = await visitor.get("/stage/c1")
    assert locked.status == 401
    assert "data-score" not in await locked.text()

    answer = await visitor.post(
        "/desk/sign-in", {"passphrase": house.PASSPHRASE, "next": "/stage/c1"}
    )

    assert answer.headers["Location"] == "/stage/c1"
    assert (await visitor.get("/stage/c1")).status == 200


@pytest.mark.parametrize("target", ["//stage.example", "/stages", "/stage\\x", "https://x/stage"])
async def test_signing_in_leads_nowhere_else(visit, room, services, target):
    services.desk.passphrase = house.PASSPHRASE
    answer = await visit(room).post(
        "/desk/sign-in", {"passphrase": house.PASSPHRASE, "next": target}
    )
    assert answer.headers["Location"] == "/desk"


@pytest.mark.parametrize("ticket", [None, "", "1.2", "99999999999.abc", "x.y"])
async def test_without_a_ticket_nothing_of_the_stage_answers(visitor, services, ticket):
    headers = {} if ticket is None else {HEADER: ticket}
    for kind in ("picture.svg", "key.mp3", "line.mp3"):
        assert (await visitor.get(f"/stage/c1/today/0/{kind}", headers=headers)).status == 403
    for change in ("open", "another"):
        assert (await visitor.post(f"/stage/c1/today/{change}", headers=headers)).status == 403
    assert services.lesson.asked == []
    assert services.lesson.opened == set()


async def test_a_ticket_outlasts_the_desks_lock_but_not_the_school_day(visitor, services):
    _, score = await a_stage(visitor)
    headers = {HEADER: score["ticket"]}
    services.clock.set(house.MONDAY_MORNING + timedelta(hours=9))
    assert (await visitor.post("/stage/c1/today/open", headers=headers)).status == 204
    services.clock.set(house.MONDAY_MORNING + timedelta(hours=10))
    assert (await visitor.post("/stage/c1/today/open", headers=headers)).status == 403


async def test_a_new_passphrase_ends_every_ticket_of_before(visitor, services):
    _, score = await a_stage(visitor)
    before = {HEADER: score["ticket"]}
    form = {"new": house.PASSPHRASE, "again": house.PASSPHRASE}
    assert (await visitor.post("/desk/passphrase", form)).status == 303

    assert (await visitor.post("/stage/c1/today/open", headers=before)).status == 403
    assert services.lesson.opened == set()

    _, score = await a_stage(visitor)
    now = {HEADER: score["ticket"]}
    assert (await visitor.post("/stage/c1/today/open", headers=now)).status == 204


async def test_the_stage_is_one_press_from_the_desk(visitor):
    page = await (await visitor.get("/desk")).text()
    assert '<a href="/stage/c1">Stage</a>' in page
    assert '<a href="/stage">Stage</a>' in page


async def test_a_stage_goes_on_after_a_restart_and_in_no_other_house(
    visit, open_room, room, services
):
    services.desk.passphrase = house.PASSPHRASE
    director = visit(room)
    await director.sign_in()
    _, score = await a_stage(director)
    headers = {HEADER: score["ticket"]}
    director.url = (await open_room(services)).url.rstrip("/")

    assert (await director.get("/desk")).status == 401
    assert (await director.post("/stage/c1/today/open", headers=headers)).status == 204
    assert (await director.get("/stage/c1?reading=another")).status == 200

    services.desk.key = None
    director.url = (await open_room(services)).url.rstrip("/")
    assert (await director.post("/stage/c1/today/open", headers=headers)).status == 403
    assert (await director.get("/stage/c1")).status == 401


async def test_the_stages_pages_open_past_the_desks_lock_as_long_as_its_ticket(
    visit, room, services
):
    services.desk.passphrase = house.PASSPHRASE
    director = visit(room)
    await director.sign_in()
    await a_stage(director)
    services.clock.set(house.MONDAY_MORNING + timedelta(hours=9))

    assert (await director.get("/desk")).status == 401
    _, score = await a_stage(director, "/stage/c1?reading=another")
    assert (await director.get("/stage")).status == 303
    assert (await director.get("/desk/choir/c1/referee")).status == 401

    services.clock.set(house.MONDAY_MORNING + timedelta(hours=10))
    headers = {HEADER: score["ticket"]}
    assert (await director.get("/stage/c1")).status == 401
    assert (await director.post("/stage/c1/today/open", headers=headers)).status == 403


@pytest.mark.parametrize(("form", "status"), [({"idle": "1"}, 200), ({}, 401)])
async def test_locking_the_desk_closes_the_stage_and_leaving_it_idle_does_not(
    visit, room, services, form, status
):
    services.desk.passphrase = house.PASSPHRASE
    director = visit(room)
    await director.sign_in()
    await a_stage(director)

    await director.post("/desk/sign-out", form)

    assert (await director.get("/desk")).status == 401
    assert (await director.get("/stage/c1")).status == status


async def test_a_stages_cookie_is_sent_to_the_stage_alone_and_opens_no_change(
    visit, room, services
):
    services.desk.passphrase = house.PASSPHRASE
    director = visit(room)
    await director.sign_in()

    given = (await director.get("/stage/c1")).headers["Set-Cookie"]

    assert given.startswith("riserbell-stage=")
    assert {"HttpOnly", "Path=/stage", "SameSite=Strict"} <= set(given.split("; "))
    assert (await director.post("/stage/c1/today/open")).status == 403


async def test_the_line_answers_only_after_it_was_opened(visitor):
    _, score = await a_stage(visitor)
    headers = {HEADER: score["ticket"]}
    assert (await visitor.get("/stage/c1/today/0/line.mp3", headers=headers)).status == 403

    await visitor.post("/stage/c1/today/open", headers=headers)

    answer = await visitor.get("/stage/c1/today/0/line.mp3?shift=1&bpm=72", headers=headers)
    assert (answer.status, answer.content_type) == (200, "audio/mpeg")


@pytest.mark.parametrize(
    "wish", ["0/nothing.mp3", "0/key.mp3?shift=x", "0/key.mp3?bpm=", "7/key.mp3"]
)
async def test_what_the_stage_does_not_have_is_not_found(visitor, wish):
    _, score = await a_stage(visitor)
    answer = await visitor.get(f"/stage/c1/today/{wish}", headers={HEADER: score["ticket"]})
    assert answer.status == 404


async def test_another_line_says_where_it_is_or_why_there_is_none(visitor, services):
    _, score = await a_stage(visitor)
    headers = {HEADER: score["ticket"]}
    answer = await visitor.post("/stage/c1/today/another", headers=headers)
    assert (await answer.json())["to"] == "/stage/c1?reading=another"

    services.lesson.refusal = NoExercise("refusal.all-read", count=7)
    answer = await visitor.post("/stage/c1/today/another", headers=headers)

    assert answer.status == 409
    assert (await answer.json())["sentence"] == "All 7 lines of these steps have been read."


async def test_the_stage_shows_neither_the_desk_nor_anything_of_it(visitor, services):
    services.choirs.kept["c2"] = house.a_choir("c2", "Tenor-Bass Choir")
    page, _ = await a_stage(visitor)
    seen = re.sub(r'data-score="[^"]*"', "", page)
    assert "/desk" not in seen
    assert not re.search(r"(?i)passphrase|approval|seat|slip|code", seen)
    assert re.findall(r"<(?:a|form|input|button)\b", seen) == []


async def test_a_page_of_the_stage_is_small(visitor):
    response = await visitor.get("/stage/c1")
    assert len(await response.read()) < 250_000


async def test_who_may_trade_lines_is_said_where_they_sing_again(visitor, services):
    _, score = await a_stage(visitor)
    assert score["words"]["hints"]["second"] == "The same line, steadier."
    services.lesson.trading = ("Part I", "Part II")
    _, score = await a_stage(visitor)
    assert "Part I and Part II may trade theirs" in score["words"]["hints"]["second"]
