"""The pace over the real store: evidence under the floor, one click, lines that come back."""

from datetime import timedelta
from itertools import pairwise

import pytest

from bot.activities.choir import Steps
from bot.activities.match_call import Call
from bot.activities.match_sides import Heads
from bot.activities.pacing import Because, Move
from bot.activities.taps import Went
from bot.errors import Refused
from bot.music.needs import needs
from bot.music.sequence import Track
from bot.service.composed import compose_reading
from bot.service.match_values import MatchWish
from tests.fakes.choirs import MONDAY, a_choir
from tests.fakes.clock import FakeClock
from tests.fakes.world import NINE, content, open_world
from tests.service.seated import sign

SEQUENCE = content().sequences["steps-first"]
DAY = timedelta(days=1)


@pytest.fixture
async def world(tmp_path):
    async with open_world(tmp_path, FakeClock(NINE)) as world:
        steps = Steps(pitch="p05", rhythm="r03")
        await world.services.choirs.add(a_choir(steps=steps, measures=8))
        await sign(world)
        yield world


async def said(world, on, steady, bumpy=0, not_yet=0):
    """What a class said of a day, as midnight leaves it."""
    async with world.database.transaction() as change:
        for went, amount in zip(Went, (steady, bumpy, not_yet), strict=True):
            if amount:
                values = {"choir_id": "choir-1", "read_on": on.isoformat(), "went": went.value}
                await change.insert("class_counts", {**values, "amount": amount})


async def days_read(world, count, told):
    """Post a line a day and let the class say how it went; the readings in order."""
    found = []
    on = MONDAY
    while len(found) < count:
        if on.weekday() < 5:
            card = await world.services.readings.post_now("choir-1")
            reading = await world.assembly.composing.find(card.reading_id)
            found.append(reading)
            await said(world, on, *told(reading))
        on += DAY
        await world.clock.advance(DAY)
    return found


async def test_a_choir_that_reads_steadily_is_told_to_go_on_and_one_click_does_it(world):
    await days_read(world, 6, lambda _: (22, 2, 0))
    pace = await world.services.pacing.pace("choir-1")
    (on,) = [each for each in pace.proposals if each.move is Move.ON]
    assert (on.track, on.to) == (Track.PITCH, "p06")
    assert on.evidence.told == 6
    assert on.evidence.steady == pytest.approx(22 / 24)
    await world.services.pacing.move("choir-1", on.track, on.to)
    assert (await world.services.choirs.get("choir-1")).steps.pitch == "p06"
    after = await world.services.pacing.pace("choir-1")
    assert {each.because for each in after.proposals} == {Because.FEW}


async def test_a_choir_that_is_lost_is_told_to_go_back(world):
    await days_read(world, 6, lambda _: (4, 6, 14))
    pace = await world.services.pacing.pace("choir-1")
    (back,) = [each for each in pace.proposals if each.move is Move.BACK]
    assert back.to in ("p04", "r02")


async def test_counts_under_the_floor_are_no_evidence(world):
    await days_read(world, 6, lambda _: (3, 1, 0))
    pace = await world.services.pacing.pace("choir-1")
    assert {each.because for each in pace.proposals} == {Because.FEW}
    assert {each.evidence.told for each in pace.proposals} == {0}


async def test_without_an_approval_only_matches_are_evidence(tmp_path):
    async with open_world(tmp_path, FakeClock(NINE)) as world:
        await world.services.choirs.add(a_choir(steps=Steps(pitch="p04", rhythm="r02")))
        await days_read(world, 5, lambda _: (22, 0, 0))
        pace = await world.services.pacing.pace("choir-1")
        assert {each.evidence.told for each in pace.proposals} == {0}
        assert {each.evidence.days for each in pace.proposals} == {5}


@pytest.mark.parametrize("to", ["p07", "p05", "p99", ""])
async def test_only_a_neighbouring_step_can_be_taken(world, to):
    with pytest.raises(Refused, match=r"pace\.moved_on"):
        await world.services.pacing.move("choir-1", Track.PITCH, to)


async def test_a_match_says_where_slips_were_heard(world):
    matches = world.services.matches
    wish = MatchWish(heads=(Heads(label="Part I", count=8),), measures=4, turns=1)
    match_id = await matches.set_up("choir-1", wish)
    first = await world.assembly.composing.find((await matches.find(match_id)).reading_id)
    place = needs(first.exercise, SEQUENCE).atoms[-1]
    calls = ("study", "read", "phrase-1", "phrase-0", "claim", f"measure-{place.measure}",
             f"beat-{int(place.beat)}", "right", "answer-1")  # fmt: skip
    for seen, text in enumerate(calls):
        await matches.call(match_id, Call.parse(text), seen)
    await world.clock.advance(DAY)
    pace = await world.services.pacing.pace("choir-1")
    assert {each.evidence.told for each in pace.proposals} == {1}
    assert {each.evidence.steady for each in pace.proposals} == {0.0}
    assert {each.evidence.not_yet for each in pace.proposals} == {0.5}
    assert sum(each.evidence.slips for each in pace.proposals) >= 1


def _has(reading, step):
    return sum(atom.step == step for atom in needs(reading.exercise, SEQUENCE).atoms)


async def test_lines_come_back_to_what_is_weak_and_are_drawn_again_from_what_is_kept(world):
    """The class stumbles over one earlier skill: now and then a line is about it again."""
    weak = "p03"
    readings = await days_read(
        world, 20, lambda reading: (8, 8, 8) if _has(reading, weak) > 3 else (24, 0, 0)
    )
    pace = await world.services.pacing.pace("choir-1")
    assert weak in pace.weak
    back = [n for n, reading in enumerate(readings) if reading.focus]
    assert {readings[n].focus for n in back} >= {(weak,)}
    assert all(later - earlier > 1 for earlier, later in pairwise(back))
    of_weak = [n for n in back if readings[n].focus == (weak,)]
    assert all(later - earlier > 3 for earlier, later in pairwise(of_weak))
    one = readings[of_weak[0]]
    choir = await world.services.choirs.get("choir-1")
    seen = [reading.exercise for reading in readings if reading.on < one.on]
    again = compose_reading(choir, content(), one.on, one.draw, seen, focus=one.focus)
    assert again.exercise == one.exercise
    assert _has(one, weak) >= 1


async def test_where_nothing_was_said_lines_are_about_the_newest(world):
    readings = []
    for _ in range(4):
        card = await world.services.readings.post_now("choir-1")
        readings.append(await world.assembly.composing.find(card.reading_id))
        await world.clock.advance(DAY)
    assert {reading.focus for reading in readings} == {()}
