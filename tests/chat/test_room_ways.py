"""The ways to read a line on the stage, and the curtain's own questions."""

import json
import re
from datetime import date
from html import unescape

import pytest

from bot.activities.curtain import SpanWeek
from bot.activities.way import Way, ways_for
from bot.chat.room.stage_ticket import HEADER
from bot.service.curtains import Span
from tests.chat.lesson_house import a_line_of

_Q = "1/4"


async def a_stage(visitor, path):
    page = await (await visitor.get(path)).text()
    return page, json.loads(unescape(re.search(r'data-score="([^"]*)"', page)[1]))


@pytest.fixture
async def headers(visitor):
    _, score = await a_stage(visitor, "/stage/c1")
    return {HEADER: score["ticket"]}


@pytest.mark.parametrize("way", ways_for(1))
async def test_every_way_has_a_stage_with_its_picture_and_sounds(visitor, headers, way):
    page, score = await a_stage(visitor, f"/stage/c1?way={way.value}")
    assert score["way"] == way.value
    assert len(score["signs"][0]) == (48 if way is Way.ECHO_HALVES else 24)
    for kind in ("picture.svg", "start.mp3"):
        answer = await visitor.get(f"/stage/c1/today/0/{kind}?way={way.value}", headers=headers)
        assert answer.status == 200
    assert f'data-way="{way.value}"' in page


async def test_an_unknown_way_is_not_found(visitor, headers):
    assert (await visitor.get("/stage/c1?way=sideways")).status == 404
    answer = await visitor.get("/stage/c1/today/0/picture.svg?way=sideways", headers=headers)
    assert answer.status == 404


async def test_from_the_right_the_page_stays_and_the_signs_come_in_the_other_order(
    visitor, services, headers
):
    services.lesson.exercise = a_line_of((((0, _Q), (1, "1/2"), (2, _Q)), ((0, "1"),)))
    _, plain = await a_stage(visitor, "/stage/c1")
    _, back = await a_stage(visitor, "/stage/c1?way=retrograde")

    def order(score, name="signs"):
        return [(sign["number"], sign["at"]) for sign in score[name][0]]

    assert order(plain) == [(0, 0), (1, 1), (2, 3), (3, 4)]
    assert order(back) == [(3, 0), (2, 4), (1, 5), (0, 7)]
    assert order(back, "answer") == [(0, 0), (1, 4), (2, 5), (3, 7)]
    pictures = {}
    for kind, way in [("picture.svg", "plain"), ("picture.svg", "retrograde"),
                      ("answer.svg", "retrograde")]:  # fmt: skip
        answer = await visitor.get(f"/stage/c1/today/0/{kind}?way={way}", headers=headers)
        pictures[kind, way] = await answer.read()
    assert pictures["picture.svg", "plain"] == pictures["picture.svg", "retrograde"]
    assert pictures["answer.svg", "retrograde"] != pictures["picture.svg", "plain"]


async def test_from_the_right_the_starting_note_is_the_last_one(visitor, services, headers):
    services.lesson.exercise = a_line_of((((0, _Q), (1, "1/2"), (4, _Q)),))

    async def start(way):
        answer = await visitor.get(f"/stage/c1/today/0/start.mp3?way={way}", headers=headers)
        return await answer.read()

    assert await start("plain") != await start("retrograde")
    assert await start("plain") == await start("hidden-measures")


async def test_what_is_new_on_the_way_back_is_told_gently(visitor, services):
    services.lesson.sequence = services.content.sequences["steps-first"]
    _, score = await a_stage(visitor, "/stage/c1?way=retrograde")
    assert score["words"]["way"]["new"].startswith("New on the way back: ")
    _, score = await a_stage(visitor, "/stage/c1")
    assert score["words"]["way"]["new"] == ""


async def test_a_line_without_halves_says_so_instead_of_an_echo(visitor, services):
    services.lesson.exercise = a_line_of(((((0, "1"),)), ((1, "1"),), ((0, "1"),)))
    answer = await visitor.get("/stage/c1?way=echo-halves")
    assert answer.status == 409
    assert "does not fall into two halves" in await answer.text()


async def test_the_curtain_answers_only_a_stage_that_is_open(visitor, services):
    for path in ("today/curtain", "today/curtain/fell?at=5&hand=0", "fall/1?beats=3"):
        assert (await visitor.post(f"/stage/c1/{path}")).status == 403
    assert services.play.curtains.fallen == []


async def test_a_fall_is_written_down_and_what_was_held_after_it(visitor, services, headers):
    answer = await visitor.post("/stage/c1/today/curtain", headers=headers)
    assert await answer.json() == {"at": 5.0}
    answer = await visitor.post("/stage/c1/today/curtain/fell?at=5.0&hand=1", headers=headers)
    assert await answer.json() == {"number": 1, "left": 11}
    assert (await visitor.post("/stage/c1/fall/1?beats=4", headers=headers)).status == 204
    assert services.play.curtains.fallen == [(5.0, True)]
    assert services.play.curtains.kept == {1: 4}


@pytest.mark.parametrize("wish", ["?at=x&hand=1", "", "?at=nan", "?at=inf", "?at=-9"])
async def test_a_fall_at_no_moment_is_turned_away(visitor, headers, wish):
    answer = await visitor.post(f"/stage/c1/today/curtain/fell{wish}", headers=headers)
    assert answer.status == 404


@pytest.mark.parametrize(("beats", "status"), [("99", 409), ("-1", 404), ("x", 404), ("", 404)])
async def test_no_number_that_cannot_be_is_kept(visitor, services, headers, beats, status):
    answer = await visitor.post(f"/stage/c1/fall/1?beats={beats}", headers=headers)
    assert answer.status == status
    assert services.play.curtains.kept == {}


async def test_a_line_without_room_for_the_curtain_says_so(visitor, services, headers):
    services.play.curtains.falls_at = None
    answer = await visitor.post("/stage/c1/today/curtain", headers=headers)
    assert answer.status == 409
    assert "too short for the curtain" in (await answer.json())["sentence"]


async def test_the_desk_draws_the_choirs_span_over_the_weeks_with_its_numbers(visitor, services):
    weeks = [(date(2025, 11, 3), 2, 3.0, 2, 4), (date(2025, 11, 17), 1, 5.0, 5, 5)]
    services.play.curtains.known = Span(
        now=4,
        counted=True,
        weeks=tuple(
            SpanWeek(monday=monday, times=times, middle=middle, least=least, most=most)
            for monday, times, middle, least, most in weeks
        ),
    )
    page = await (await visitor.get("/desk/choir/c1/span")).text()
    cells = re.findall(r"<td>([^<]*)</td>", page)
    assert cells == ["3", "2 to 4", "2", "5", "5", "1"]
    assert len(re.findall(r'class="head"', page)) == 2
    assert "4 beats" in page


async def test_the_desk_says_how_the_span_comes_about_where_there_is_none(visitor):
    page = await (await visitor.get("/desk/choir/c1/span")).text()
    assert "<svg" not in page.partition("<main")[2].partition("</main")[0]
    assert "has not been counted yet" in page


async def test_the_board_has_a_page_for_every_way_that_needs_one(visitor):
    page = await (await visitor.get("/reading/c1-20251124")).text()
    pages = re.findall(r'<img src="(/turned/c1-20251124/0/[^"]*)"', page)
    assert [path.split("/")[4] for path in pages] == [
        "retrograde",
        "rhythm-only",
        "hidden-measures",
    ]
    for path in pages:
        answer = await visitor.get(unescape(path))
        assert (answer.status, answer.content_type) == (200, "image/svg+xml")
    for wrong in ("0/plain/picture.svg", "0/sideways/picture.svg", "0/retrograde/nothing.svg"):
        assert (await visitor.get(f"/turned/c1-20251124/{wrong}")).status == 404


@pytest.mark.parametrize(("way", "status"), [("retrograde", 204), ("plain", 204), ("", 404)])
async def test_what_a_line_was_read_as_is_told_to_the_plan(visitor, services, headers, way, status):
    answer = await visitor.post(f"/stage/c1/today/read?way={way}", headers=headers)
    assert answer.status == status
    assert services.plans.was == ([("c1", {"plain": "card"}.get(way, way))] if way else [])


async def test_only_the_stage_tells_what_was_read(visitor, services):
    assert (await visitor.post("/stage/c1/today/read?way=retrograde")).status == 403
    assert services.plans.was == []


async def test_where_the_rhythm_alone_is_read_the_stage_names_no_key(visitor):
    plain, bare = [
        await (await visitor.get(f"/stage/c1?way={way}")).text() for way in ("plain", "rhythm-only")
    ]
    key = re.search(r'<span id="key">([^<]+)', plain)[1]
    assert re.search(r'<figure[^>]*aria-label="([^"]*)"', plain)[1].startswith(
        key.partition("♭")[0]
    )
    assert '<span>Rhythm</span> <span id="key" hidden>' in bare
    assert ("<kbd>↑</kbd>" in plain, "<kbd>↑</kbd>" in bare) == (True, False)
    moves = [
        json.loads(unescape(re.search(r'data-score="([^"]*)"', page)[1])) for page in (plain, bare)
    ]
    assert [len(score["keyChoices"]) > 1 for score in moves] == [True, False]
    assert re.search(r'<figure[^>]*aria-label="([^"]*)"', bare)[1].startswith("Rhythm alone, ")
