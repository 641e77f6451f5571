"""Whatever dies at whatever await, a call is kept whole or not at all, and the match goes on."""

import asyncio
import contextlib

import pytest

from bot.activities.match_call import Call
from bot.activities.match_rules import Side
from bot.activities.match_sides import Heads
from bot.errors import InputProblems
from bot.service.content import load_content
from bot.service.match_values import MatchWish
from tests.fakes.choirs import a_choir
from tests.fakes.clock import FakeClock
from tests.fakes.interruption import Killed, count_suspensions, interrupt
from tests.fakes.world import CONTENT, NINE, open_world

WISH = MatchWish(heads=(Heads(label="Part I", count=8),), measures=4, turns=1)
MOST_SUSPENSIONS = 24  # of one call; a test below shows that it has fewer
PHRASE = Call.parse("phrase-2")


async def read_to_the_verdict(folder) -> str:
    async with open_world(folder, FakeClock(NINE)) as world:
        await world.services.choirs.add(a_choir())
        matches = world.services.matches
        match_id = await matches.set_up("choir-1", WISH)
        for seen, text in enumerate(("study", "read")):
            await matches.call(match_id, Call.parse(text), seen)
        return match_id


async def test_one_call_has_fewer_awaits_than_the_kills_reach(tmp_path):
    match_id = await read_to_the_verdict(tmp_path)
    async with open_world(tmp_path, FakeClock(NINE)) as world:
        call = world.services.matches.call(match_id, PHRASE, 2)
        assert await count_suspensions(call) < MOST_SUSPENSIONS


@pytest.mark.parametrize("error", [Killed(), asyncio.CancelledError()], ids=["killed", "cancelled"])
async def test_a_call_that_dies_is_kept_whole_or_not_at_all(tmp_path, error):
    match_id = await read_to_the_verdict(tmp_path)
    kept = 0
    for at in range(1, MOST_SUSPENSIONS):
        async with open_world(tmp_path, FakeClock(NINE)) as world:
            matches = world.services.matches
            before = await matches.find(match_id)
            call = PHRASE if before.match.verdicts == () else Call.parse("undo")
            with contextlib.suppress(Killed, asyncio.CancelledError):
                await interrupt(matches.call(match_id, call, before.revision), at, error)
        async with open_world(tmp_path, FakeClock(NINE)) as world:
            after = await world.services.matches.find(match_id)
            assert after.revision - before.revision in (0, 1)
            kept += after.revision - before.revision
            (sum_,) = await world.services.matches.term("choir-1")
            assert [sum_.left, sum_.right] == [after.match.score(side) for side in Side]
            assert sum(after.match.score(side) for side in Side) == 2 * len(after.match.verdicts)
    # Some died before the commit, some after it.
    assert 0 < kept < MOST_SUSPENSIONS - 1


def test_a_houses_own_rules_lie_over_ours(tmp_path):
    (tmp_path / "match").mkdir()
    file = tmp_path / "match" / "rules.toml"
    file.write_text('turns = 3\nleft = "Window"\n', encoding="utf-8")
    rules = load_content([CONTENT, tmp_path]).match_rules
    assert (rules.turns, rules.left, rules.good) == (3, "Window", 3)
    file.write_text("throws = 4\n", encoding="utf-8")
    with pytest.raises(InputProblems, match="music outweighs aim"):
        load_content([CONTENT, tmp_path])


async def test_a_match_goes_on_by_the_rules_that_it_began_with(tmp_path):
    match_id = await read_to_the_verdict(tmp_path)
    async with open_world(tmp_path, FakeClock(NINE)) as world:
        async with world.database.transaction() as change:
            row = await change.row("SELECT setup FROM matches WHERE match_id = ?", match_id)
            house = row["setup"].replace('"read":2', '"read":5')
            await change.update("matches", {"setup": house}, {"match_id": match_id})
        played, _ = await world.services.matches.call(match_id, PHRASE, 2)
        assert sum(played.match.score(side) for side in Side) == 5
