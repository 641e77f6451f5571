"""The addresses of a story that is told: tickets, seats, and nothing between stories."""

import pytest

from bot.chat.room.stage_ticket import HEADER
from tests.chat.test_room_stage import a_stage


async def test_between_stories_the_stage_says_so(visitor):
    response = await visitor.get("/stage/c1/story")
    assert "No story is being told." in await response.text()


@pytest.mark.parametrize("call", ["count", "choose", "advance", "pause", "resume", "undo", "end"])
async def test_without_a_ticket_nobody_calls_anything(visitor, call):
    response = await visitor.post(f"/stage/c1/story/{call}", data={"path": "0", "counts": "1,2"})
    assert response.status == 403


@pytest.mark.parametrize(
    ("call", "fields"),
    [
        ("count", {"counts": "1"}),
        ("count", {"counts": "1,2,3,4"}),
        ("count", {"counts": "-1,2"}),
        ("count", {"counts": "1,401"}),
        ("count", {"counts": "1,²"}),
        ("choose", {"path": "3"}),
        ("choose", {}),
    ],
)
async def test_a_call_that_no_stage_makes_is_refused(visitor, call, fields):
    _, score = await a_stage(visitor)
    headers = {HEADER: score["ticket"]}
    response = await visitor.post(f"/stage/c1/story/{call}", data=fields, headers=headers)
    assert response.status == 400


async def test_a_vote_needs_a_seat(visitor):
    response = await visitor.post("/seat/vote", data={"path": "0"})
    assert response.status == 403


async def test_the_desk_has_a_shelf_of_stories(visitor):
    page = await (await visitor.get("/desk/choir/c1/story")).text()
    assert "Votes from home need an approval" in page
    assert page.count('name="story"') >= 4
    assert "for grades 6 to 8, at the steps “fa by step”, “paired eighths”" in page
