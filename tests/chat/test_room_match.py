"""The addresses of a match: who may call, what is answered, and that nothing private is in it."""

import asyncio
import json
import re
from html import unescape

import pytest

from bot.activities.choir import Steps
from bot.activities.match_rules import Rules, Stand
from bot.activities.match_sides import Heads
from bot.chat.room.stage_ticket import HEADER
from bot.service.match_rules_form import rules_fields
from bot.service.match_values import MatchWish
from tests.chat import house
from tests.fakes.clock import FakeClock
from tests.fakes.drawn import open_services

WISH = MatchWish(heads=(Heads(label="Part I", count=9),), measures=4, turns=1)


@pytest.fixture
async def services(tmp_path):
    """Two choirs of one part, without a match."""
    async with open_services(tmp_path, FakeClock(house.MONDAY_MORNING)) as found:
        choir = house.a_choir(steps=Steps(pitch="p04", rhythm="r02"))
        one = house.replace(choir, voices=choir.voices[:1])
        await found.choirs.add(one)
        await found.choirs.add(house.replace(one, id="c2", name="Period 5"))
        yield found


@pytest.fixture
async def match_id(services):
    return await services.matches.set_up("c1", WISH)


async def a_board(visitor, path="/stage/c1/match"):
    page = await (await visitor.get(path)).text()
    return page, json.loads(unescape(re.search(r'data-board="([^"]*)"', page)[1]))


async def call(visitor, given, wish, seen):
    return await visitor.post(
        f"{given['match']}/call",
        {"call": wish, "seen": str(seen)},
        headers={HEADER: given["ticket"]},
    )


def called(side):
    """Single numbers of `1, 4\u20137`."""
    for run in side.split(", "):
        first, _, last = run.partition("\u2013")
        yield from range(int(first), int(last or first) + 1)


async def test_a_part_that_stands_in_rows_is_drawn_row_by_row(visitor, services):
    await services.matches.house.keep("c1", rules_fields(Rules(stand=Stand.TOGETHER)))
    fields = {"heads-0": "5 + 4", "measures": "4", "turns": "1"}
    assert (await visitor.post("/desk/choir/c1/match", fields)).status == 303
    await services.makings.round()
    page = await (await visitor.get("/desk/choir/c1/match")).text()
    for row, count in ((1, 5), (2, 4)):
        sides = re.search(
            rf"Part I, row {row}</dt>\s*<dd>Left page: (.*)</dd>\s*<dd>Right page: (.*)</dd>", page
        ).groups()
        assert sorted(n for side in sides for n in called(side)) == list(range(1, count + 1))
    assert 'value="5 + 4"' in page
    assert re.search(r"(Left page: [45] in all. Right page: [45] in all.)", page)


async def test_a_match_is_set_up_from_heads_and_drawn_by_part(visitor, services):
    page = await (await visitor.get("/desk/choir/c1/match")).text()
    assert "Singers in Part I today" in page
    assert "None so far." in page

    answer = await visitor.post(
        "/desk/choir/c1/match", {"heads-0": "9", "measures": "4", "turns": "2"}
    )

    assert (answer.status, answer.headers["Location"]) == (303, "/desk/choir/c1/match")
    page = await (await visitor.get("/desk/choir/c1/match")).text()
    assert "It is next in line." in page
    assert "heads-0" not in page
    await visitor.post("/desk/choir/c1/match", {"heads-0": "8", "measures": "4", "turns": "1"})
    await services.makings.round()
    assert len(await services.matches.term("c1")) == 1
    page = await (await visitor.get("/desk/choir/c1/match")).text()
    sides = re.findall(r"<dd>\w+ page: ([\d\u2013, ]+)</dd>", page)
    assert sorted(number for side in sides for number in called(side)) == list(range(1, 10))
    assert 'href="/desk/choir/c1/referee"' in page
    assert 'value="9"' in page


@pytest.mark.parametrize(
    ("fields", "status", "told"),
    [
        ({"heads-0": "many", "measures": "4", "turns": "2"}, 422, "A whole number is wanted"),
        ({"heads-0": "", "measures": "4", "turns": "2"}, 422, "A whole number is wanted"),
        ({"heads-0": "5 +", "measures": "4", "turns": "2"}, 422, "A whole number is wanted"),
        ({"heads-0": "1+" * 12 + "1", "measures": "4", "turns": "2"}, 409, "in 12 rows at most"),
        ({"heads-0": "1", "measures": "4", "turns": "2"}, 409, "two singers at least"),
        ({"heads-0": "9", "measures": "5", "turns": "2"}, 409, "Choose a length on offer"),
        ({"heads-0": "9", "measures": "4", "turns": "x"}, 409, "Choose a length on offer"),
    ],
)
async def test_a_form_that_cannot_be_comes_back_with_a_sentence(visitor, fields, status, told):
    answer = await visitor.post("/desk/choir/c1/match", fields)
    text = await answer.text()
    assert (answer.status, told in text) == (status, True)


@pytest.mark.parametrize("path", ["/stage/c1/match", "/desk/choir/c1/referee"])
async def test_without_a_match_the_board_says_where_one_is_set_up(visitor, path):
    answer = await visitor.get(path)
    assert answer.status == 404
    assert 'href="/desk/choir/c1/match"' in await answer.text()


async def test_a_call_is_answered_with_the_board_as_it_stands(visitor, match_id):
    _, given = await a_board(visitor)
    assert given["now"]["stop"] == "ready"
    answer = await call(visitor, given, "study", 0)
    board = await answer.json()
    assert (board["revision"], board["stop"], board["seconds"]) == (1, "study", 20)
    assert [told["cue"] for told in board["told"]] == ["clock"]
    assert [offer["call"] for offer in board["offers"]] == ["read"]
    assert board["undo"]


@pytest.mark.parametrize(
    ("wish", "seen", "status"),
    [
        ("study", "1", 409),  # somebody called meanwhile
        ("thrown-1", "0", 409),  # not now
        ("undo", "0", 409),  # nothing to undo
        ("dance", "0", 400),
        ("study", "x", 400),
        ("phrase", "0", 400),
    ],
)
async def test_a_call_without_a_place_changes_nothing(
    visitor, match_id, services, wish, seen, status
):
    _, given = await a_board(visitor)
    answer = await call(visitor, given, wish, seen)
    assert answer.status == status
    if status == 409:
        assert (await answer.json())["sentence"]
    assert (await services.matches.find(match_id)).revision == 0


@pytest.mark.parametrize("ticket", [None, "", "99999999999.abc"])
async def test_without_a_ticket_nothing_is_called_and_nothing_is_told(visitor, match_id, ticket):
    headers = {} if ticket is None else {HEADER: ticket}
    base = f"/stage/c1/match/{match_id}"
    for path in ("state", "line/today"):
        assert (await visitor.get(f"{base}/{path}", headers=headers)).status == 403
    answer = await visitor.post(f"{base}/call", {"call": "study", "seen": "0"}, headers=headers)
    assert answer.status == 403


async def test_a_match_belongs_to_its_choir(visitor, match_id):
    _, given = await a_board(visitor)
    headers = {HEADER: given["ticket"]}
    for choir in ("c2", "nobody"):
        path = f"/stage/{choir}/match/{match_id}/state"
        assert (await visitor.get(path, headers=headers)).status == 404


async def test_only_the_lines_of_the_match_are_told(visitor, services, match_id):
    _, given = await a_board(visitor)
    headers = {HEADER: given["ticket"]}
    line = await visitor.get(f"{given['match']}/line/{given['now']['reading']}", headers=headers)
    told = await line.json()
    assert told["pages"][0][0]["measure"] == 1
    assert told["pulses"] > 4
    other = await services.readings.preview("c1", house.MONDAY)
    assert (
        await visitor.get(f"{given['match']}/line/{other.reading_id}", headers=headers)
    ).status == 404


async def test_the_stream_tells_that_something_was_called_and_nothing_else(visitor, match_id):
    _, given = await a_board(visitor)
    async with visitor.session.get(f"{visitor.url}{given['match']}/live") as stream:
        first = await asyncio.wait_for(stream.content.readuntil(b"\n\n"), 5)
        assert first == b"retry: 3000\nevent: newest\ndata: 0\n\n"
        await call(visitor, given, "study", 0)
        news = await asyncio.wait_for(stream.content.readuntil(b"\n\n"), 5)
        assert news == b"event: newest\ndata: 1\n\n"


async def test_the_stream_is_for_the_rooms_own_pages(visitor, match_id):
    answer = await visitor.get(
        f"/stage/c1/match/{match_id}/live", headers={"Sec-Fetch-Site": "cross-site"}
    )
    assert answer.status == 403


async def test_the_classs_board_tells_how_todays_match_stands(visitor, match_id):
    assert (
        "Left page 0, Right page 0, and it goes on."
        in await (await visitor.get("/choir/c1")).text()
    )
    _, given = await a_board(visitor)
    for seen, wish in enumerate(("study", "read", "phrase-2")):
        await call(visitor, given, wish, seen)
    page = await (await visitor.get("/choir/c1")).text()
    assert re.search(r"Today’s match: Left page [02], Right page [02], and it goes on", page)
    assert "match" not in await (await visitor.get("/choir/c2")).text()


async def test_the_other_page_is_told_the_last_call_once(visitor, match_id):
    _, given = await a_board(visitor)
    headers = {HEADER: given["ticket"]}
    await call(visitor, given, "study", 0)
    for seen, cues in ((0, ["clock"]), (1, [])):
        answer = await visitor.get(f"{given['match']}/state?seen={seen}", headers=headers)
        assert [told["cue"] for told in (await answer.json())["told"]] == cues
    assert (await visitor.get(f"{given['match']}/state?seen=x", headers=headers)).status == 404


async def test_the_board_and_the_referee_stand_behind_the_desks_lock(
    visit, room, services, match_id
):
    await services.desk.set_passphrase(house.PASSPHRASE)
    for path in ("/stage/c1/match", "/desk/choir/c1/referee", "/desk/choir/c1/match"):
        answer = await visit(room).get(path)
        assert answer.status == 401
        assert "data-board" not in await answer.text()


async def test_nothing_private_is_on_the_board(visitor, services, match_id):
    await services.desk.set_passphrase(house.PASSPHRASE)
    await visitor.sign_in()
    for path in ("/stage/c1/match", "/desk/choir/c1/referee"):
        page, given = await a_board(visitor, path)
        assert "seat" not in page.lower()
        assert set(given["now"]["pages"]["left"]) == {"name", "score", "group", "turns", "draw"}


async def test_a_term_adds_up_on_the_desk(visitor, match_id):
    _, given = await a_board(visitor)
    side = ("study", "read", "phrase-2", "phrase-1", "on", "thrown-1")
    calls = (*side, *side, "study", "read", "phrase-2", "phrase-2")
    for seen, wish in enumerate(calls):
        answer = await call(visitor, given, wish, seen)
        assert answer.status == 200, (wish, await answer.text())
    page = await (await visitor.get("/desk/choir/c1/match")).text()
    assert "Left page 8, Right page 8" in page
    assert "16 points, played to the end" in page
    assert "1 match, 16 points" in page
