"""Matches over the real store and composer: equal lines, a journal that outlives the process."""

from dataclasses import replace
from datetime import timedelta
from itertools import combinations
from statistics import median

import pytest

from bot.activities.choir import Steps
from bot.activities.match_call import Call
from bot.activities.match_sides import Heads
from bot.activities.match_state import Stop
from bot.errors import NoExercise, Refused
from bot.music.demand import demand, unlike
from bot.music.load import load_of, percentile, yardstick
from bot.service.composed import compose_reading
from bot.service.match_lines import draw_lines
from bot.service.match_values import MatchWish
from tests.fakes.choirs import BARITONE, MONDAY, TREBLE, a_choir
from tests.fakes.clock import FakeClock
from tests.fakes.world import NINE, content, open_world

HEADS = (Heads(label="Part I", count=7), Heads(label="Part II", count=6))
WISH = MatchWish(heads=HEADS, measures=4, turns=2)
TURN = ("study", "read", "phrase-2", "phrase-2", "on", "thrown-2")


async def call_all(matches, match_id, *texts):
    played = await matches.find(match_id)
    for text in texts:
        played, _ = await matches.call(match_id, Call.parse(text), played.revision)
    return played


@pytest.fixture
async def world(tmp_path):
    async with open_world(tmp_path, FakeClock(NINE)) as world:
        await world.services.choirs.add(a_choir())
        yield world


async def test_a_match_has_a_line_for_every_turn_and_one_for_both(world):
    matches = world.services.matches
    played = await matches.find(await matches.set_up("choir-1", WISH))
    assert len(set(played.lines)) == 5
    readings = [await world.assembly.composing.find(line) for line in played.lines]
    assert {reading.exercise.measures for reading in readings} == {4}
    assert len({reading.exercise.key for reading in readings}) == 1
    assert len({reading.exercise.fingerprint() for reading in readings}) == 5
    assert (played.match.stop, played.revision, played.reading_id) == (
        Stop.READY,
        0,
        played.lines[0],
    )


async def test_no_line_of_a_match_comes_back_unasked(world):
    matches = world.services.matches
    await world.services.readings.preview("choir-1", MONDAY)
    one = await matches.find(await matches.set_up("choir-1", WISH))
    two = await matches.find(await matches.set_up("choir-1", WISH))
    prints = [
        (await world.assembly.composing.find(line)).exercise.fingerprint()
        for line in (*one.lines, *two.lines)
    ]
    assert len(set(prints)) == 10
    assert one.match.setup.sides != two.match.setup.sides


async def test_a_match_goes_on_after_the_process_died(tmp_path):
    clock = FakeClock(NINE)
    async with open_world(tmp_path, clock) as world:
        await world.services.choirs.add(a_choir())
        matches = world.services.matches
        match_id = await matches.set_up("choir-1", WISH)
        before = await call_all(matches, match_id, *TURN, "study", "undo")
    async with open_world(tmp_path, clock) as world:
        after = await world.services.matches.open_of("choir-1")
        assert after == before
        assert after.match.score(after.match.setup.sides.begins) == 6
        played, told = await world.services.matches.told(match_id, after.revision)
        assert (played, told) == (before, ())


async def test_a_call_on_a_state_that_has_moved_on_changes_nothing(world):
    matches = world.services.matches
    match_id = await matches.set_up("choir-1", WISH)
    await call_all(matches, match_id, "study")
    with pytest.raises(Refused, match=r"match\.moved_on"):
        await matches.call(match_id, Call.parse("study"), 0)
    with pytest.raises(Refused, match=r"match\.not_now"):
        await matches.call(match_id, Call.parse("thrown-1"), 1)
    assert (await matches.find(match_id)).revision == 1


async def test_what_a_call_tells_is_told_to_the_other_page_once(world):
    matches = world.services.matches
    match_id = await matches.set_up("choir-1", WISH)
    await call_all(matches, match_id, "study", "read")
    played, told = await matches.call(match_id, Call.parse("phrase-2"), 2)
    assert await matches.told(match_id, 2) == (played, told)
    assert await matches.told(match_id, 3) == (played, ())
    assert await matches.told(match_id, 1) == (played, ())


async def test_a_term_is_told_by_matches_and_closed_by_its_end(world):
    matches = world.services.matches
    match_id = await matches.set_up("choir-1", WISH)
    both = ("study", "read", "phrase-1", "phrase-1")
    await call_all(matches, match_id, *TURN * 4, *both)
    (sum_,) = await matches.term("choir-1")
    assert (sum_.ended, sum_.left, sum_.right) == (True, 14, 14)
    assert await matches.open_of("choir-1") is None
    assert await matches.last_heads("choir-1") == HEADS
    await world.clock.advance(timedelta(days=200))
    assert await matches.term("choir-1") == ()


async def test_yesterdays_match_does_not_go_on_today(world):
    matches = world.services.matches
    await matches.set_up("choir-1", WISH)
    assert await matches.open_of("choir-1") is not None
    await world.clock.advance(timedelta(days=1))
    assert await matches.open_of("choir-1") is None


@pytest.mark.parametrize(
    ("wish", "key"),
    [
        (MatchWish(heads=HEADS, measures=6, turns=2), "match.turns"),
        (MatchWish(heads=HEADS, measures=4, turns=0), "match.turns"),
        (MatchWish(heads=HEADS, measures=4, turns=13), "match.turns"),
        (MatchWish(heads=(Heads(label="Part I", count=1),), measures=4, turns=2), "match.heads"),
    ],
)
async def test_a_wish_out_of_bounds_is_refused_and_nothing_is_kept(world, wish, key):
    with pytest.raises(Refused, match=key.replace(".", r"\.")):
        await world.services.matches.set_up("choir-1", wish)
    assert await world.services.matches.term("choir-1") == ()


async def test_a_length_that_the_step_does_not_have_is_refused(world):
    with pytest.raises(NoExercise):
        await world.services.matches.set_up("choir-1", MatchWish(heads=HEADS, measures=8, turns=2))


async def test_removing_a_choir_removes_its_matches(world):
    matches = world.services.matches
    match_id = await matches.set_up("choir-1", WISH)
    await call_all(matches, match_id, *TURN)
    await world.services.seating.rights.remove_choir("choir-1")
    with pytest.raises(Refused, match=r"match\.unknown"):
        await matches.find(match_id)


@pytest.mark.parametrize("steps", [Steps(), Steps(pitch="p05", rhythm="r05")])
def test_both_lines_of_a_pair_ask_equally_much(steps):
    choir, sequence = a_choir(steps=steps), content().sequences["steps-first"]
    lines = draw_lines(choir, content(), MONDAY, 0, (), pairs=4, measures=4)
    asked = [demand(reading.exercise, sequence) for reading in lines]
    pairs = [unlike(asked[2 * n], asked[2 * n + 1]) for n in range(4)]
    random = [
        compose_reading(replace(choir, measures=4), content(), MONDAY, draw, (), "match").exercise
        for draw in range(900, 908)
    ]
    others = [
        unlike(demand(one, sequence), demand(two, sequence))
        for one, two in combinations(random, 2)
        if one.metre == two.metre
    ]
    # Nearer to each other, the worst of them too, than two lines of this step are at random.
    assert max(pairs) < median(others)
    assert median(pairs) < 0.5 * median(others)
    for n in range(4):
        one, other = lines[2 * n].exercise, lines[2 * n + 1].exercise
        assert (one.metre, one.key, one.measures) == (other.metre, other.key, other.measures)
    _check_loads([reading.exercise for reading in lines[:8]], steps)


def _check_loads(lines, steps):
    """Measured over 40 matches at five steps: the lines of a pair are 0 to 4.6 of a hundred places
    apart among lines of their step, 10 at the ninetieth pair of a hundred; two lines at random 26
    to 40. Neither side is ahead by more than one pair's difference after any turn.
    """
    sequence = content().sequences["steps-first"]
    yard = yardstick(sequence, (steps.pitch, steps.rhythm))
    loads = [load_of(line, sequence) for line in lines]
    places = [percentile(load, yard) for load in loads]
    assert sum(abs(places[2 * n] - places[2 * n + 1]) for n in range(4)) <= 4 * 10
    more = [loads[2 * n] - loads[2 * n + 1] for n in range(4)]
    ahead = [abs(sum(more[: n + 1])) for n in range(4)]
    assert all(by <= max(map(abs, more)) + 1e-9 for by in ahead)


def test_a_step_that_has_hardly_more_lines_than_are_read_still_makes_a_match(monkeypatch):
    few = 7

    def compose(choir, content, on, draw, seen, slot, tables=None):
        if draw >= few:
            raise NoExercise("refusal.all-read", count=draw)
        return compose_reading(choir, content, on, draw, seen, slot)

    monkeypatch.setattr("bot.service.match_lines.compose_reading", compose)
    choir = a_choir(steps=Steps(pitch="p02", rhythm="r02"))
    lines = draw_lines(choir, content(), MONDAY, 0, (), pairs=2, measures=4)
    assert len({reading.exercise.fingerprint() for reading in lines}) == 5
    with pytest.raises(NoExercise):
        draw_lines(choir, content(), MONDAY, 0, (), pairs=4, measures=4)


def test_the_same_draws_give_the_same_lines_for_parts_too():
    choir = a_choir(voices=(TREBLE, BARITONE), steps=Steps(pitch="p04", rhythm="r02"))
    one, two = (draw_lines(choir, content(), MONDAY, 3, (), pairs=1, measures=4) for _ in "ab")
    assert [each.exercise for each in one] == [each.exercise for each in two]
