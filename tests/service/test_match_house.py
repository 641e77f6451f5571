"""A choir's own rules before the house's file, the file before ours; a match keeps its own."""

import pytest

from bot.activities.match_rules import Rules
from bot.activities.match_rules_file import parse_rules
from bot.activities.match_sides import Heads
from bot.errors import InputProblems
from bot.service.content import load_content
from bot.service.match_house import MatchHouse
from bot.service.match_rules_form import rules_fields
from bot.service.match_values import MatchWish
from tests.fakes.choirs import a_choir
from tests.fakes.clock import FakeClock
from tests.fakes.world import CONTENT, NINE, open_world

WISH = MatchWish(heads=(Heads(label="Part I", count=8),), measures=4, turns=1)


def typed(**changes):
    return rules_fields(Rules()) | {name: [text] for name, text in changes.items()}


@pytest.fixture
async def world(tmp_path):
    async with open_world(tmp_path, FakeClock(NINE)) as world:
        await world.services.choirs.add(a_choir())
        await world.services.choirs.add(a_choir(id="choir-2", name="Period 5"))
        yield world


async def test_the_choirs_rules_go_before_the_file_and_the_file_before_ours(world, tmp_path):
    (tmp_path / "match").mkdir()
    (tmp_path / "match" / "rules.toml").write_text("turns = 3\ngood = 2\n", encoding="utf-8")
    house = MatchHouse(world.database, load_content([CONTENT, tmp_path]))
    assert ((await house.of("choir-1")).turns, (await house.of("choir-1")).good) == (3, 2)
    await house.keep("choir-1", typed(turns="5"))
    assert ((await house.of("choir-1")).turns, (await house.of("choir-1")).good) == (5, 3)
    assert (await house.of("choir-2")).turns == 3
    await house.back("choir-1")
    assert await house.own("choir-1") is None
    assert (await house.of("choir-1")).turns == 3


async def test_rules_with_a_fault_change_nothing(world):
    house = world.services.matches.house
    await house.keep("choir-1", typed(turns="5"))
    with pytest.raises(InputProblems):
        await house.keep("choir-1", typed(throws="4"))
    assert (await house.of("choir-1")).turns == 5


async def test_a_match_that_has_begun_keeps_the_rules_it_began_with(world):
    matches = world.services.matches
    first = await matches.set_up("choir-1", WISH)
    await matches.house.keep("choir-1", typed(read="5", left="Window"))
    second = await matches.set_up("choir-1", WISH)
    await matches.house.back("choir-1")
    names = [(await matches.find(one)).match.setup.rules.left for one in (first, second)]
    assert names == ["Left page", "Window"]
    assert (await matches.find(second)).match.setup.rules.read == 5
    assert [one.left_name for one in await matches.term("choir-1")] == ["Window", "Left page"]


async def test_the_file_of_a_choirs_rules_is_the_documented_one(world):
    house = world.services.matches.house
    rules = await house.keep("choir-1", typed(turns="2", left='The "near" side', study_4=""))
    text = house.file(rules)
    assert parse_rules([(text, "rules.toml")]) == rules
    assert "# A reading is good, and a group throws, from so many points on." in text


async def test_removing_a_choir_removes_its_rules(world):
    await world.services.matches.house.keep("choir-1", typed(turns="2"))
    await world.services.seating.rights.remove_choir("choir-1")
    async with world.database.snapshot() as read:
        assert await read.rows("SELECT * FROM match_rules") == []
