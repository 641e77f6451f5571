"""Plans over the real store: proposed, kept, counted as used, gone with the choir."""

import json
from datetime import date, timedelta
from itertools import permutations

import pytest

from bot.activities.calendar import Meeting, Weekdays
from bot.activities.choir import Steps
from bot.activities.match_sides import Heads
from bot.activities.rotation import Kind, Why
from bot.errors import Refused
from bot.music.both_ways import nearest_both_ways
from bot.music.checker import check
from bot.music.step import level_of
from bot.music.turns import retrograde
from bot.service.match_values import MatchWish
from tests.fakes.choirs import MONDAY, a_choir
from tests.fakes.clock import FakeClock
from tests.fakes.world import NINE, open_world
from tests.music.levels import steps_first

OCTOBER = date(2026, 10, 1)
TUESDAY, THURSDAY = MONDAY + timedelta(days=1), MONDAY + timedelta(days=3)


@pytest.fixture
async def world(tmp_path):
    async with open_world(tmp_path, FakeClock(NINE)) as world:
        await world.services.choirs.add(a_choir(steps=Steps(pitch="p04", rhythm="r04")))
        yield world


async def test_a_month_is_proposed_from_today_on(world):
    plan = await world.services.plans.month("choir-1", date(2026, 9, 1))
    assert plan.days[0].on == MONDAY == plan.today
    assert plan.days[-1].on == date(2026, 9, 30)
    assert len(plan.days) == 13
    playful = [day for day in plan.days if day.kind is not Kind.CARD]
    assert len(playful) in (5, 6)
    assert len({day.kind for day in playful}) == len(playful)


async def test_the_day_with_which_a_month_ends_reads_the_same_in_its_week(tmp_path):
    last = date(2026, 11, 30)
    assert last.weekday() == 0
    async with open_world(tmp_path, FakeClock(NINE + (last - MONDAY))) as world:
        await world.services.choirs.add(a_choir())
        month = await world.services.plans.month("choir-1", date(2026, 11, 1))
        week = await world.services.plans.week("choir-1", last)
    assert [day.on for day in month.days] == [last]
    assert month.days[0] == week.days[0]
    assert (week.days[0].kind, week.days[0].why) == (Kind.CARD, Why.BEGINS)


async def test_a_kept_month_stands_over_a_restart(tmp_path):
    clock = FakeClock(NINE)
    async with open_world(tmp_path, clock) as world:
        await world.services.choirs.add(a_choir())
        plan = await world.services.plans.month("choir-1", OCTOBER)
        await world.services.plans.keep("choir-1", {day.on: day.kind for day in plan.days})
    async with open_world(tmp_path, clock) as world:
        again = await world.services.plans.month("choir-1", OCTOBER)
        assert [(day.on, day.kind) for day in again.days] == [(d.on, d.kind) for d in plan.days]
        assert {day.why for day in again.days} == {Why.KEPT}
        await world.services.plans.propose_again("choir-1", OCTOBER)
        fresh = await world.services.plans.month("choir-1", OCTOBER)
        assert Why.KEPT not in {day.why for day in fresh.days}


async def test_the_director_chooses_and_the_rest_is_proposed_around_it(world):
    await world.services.plans.keep("choir-1", {MONDAY: Kind.MATCH})
    week = (await world.services.plans.week("choir-1")).days
    assert (week[0].kind, week[0].why) == (Kind.MATCH, Why.KEPT)
    assert (week[1].kind, week[1].why) == (Kind.CARD, Why.BETWEEN)
    assert sum(day.kind is not Kind.CARD for day in week) == 2


async def test_too_much_play_is_refused_with_its_days_and_nothing_is_kept(world):
    plans = world.services.plans
    await plans.keep("choir-1", {TUESDAY: Kind.CURTAIN, THURSDAY: Kind.RETROGRADE})
    with pytest.raises(Refused) as caught:
        await plans.keep("choir-1", {MONDAY + timedelta(days=4): Kind.MATCH})
    assert caught.value.key == "plan.too_many"
    assert caught.value.values["first"] == TUESDAY
    week = (await plans.week("choir-1")).days
    assert week[4].kind is Kind.CARD


@pytest.mark.parametrize("on", [date(2026, 9, 19), date(2026, 9, 11)])
async def test_a_day_without_a_meeting_cannot_be_planned(world, on):
    with pytest.raises(Refused, match=r"plan\.no_meeting"):
        await world.services.plans.keep("choir-1", {on: Kind.CARD})


async def test_what_was_really_played_counts_as_used(world):
    matches = world.services.matches
    wish = MatchWish(heads=(Heads(label="Part I", count=8),), measures=4, turns=1)
    await matches.set_up("choir-1", wish)
    await world.clock.advance(timedelta(days=1))
    tuesday = (await world.services.plans.week("choir-1")).days[1]
    # A match was played on Monday: today is a card, and the match is the last to come again.
    month = await world.services.plans.month("choir-1", date(2026, 9, 1))
    assert month.days[0].on == tuesday.on
    assert (month.days[0].kind, month.days[0].why) == (Kind.CARD, Why.BETWEEN)
    later = await world.services.plans.month("choir-1", OCTOBER)
    playful = [day for day in (*month.days, *later.days) if day.kind is not Kind.CARD]
    kinds = [day.kind for day in playful]
    assert kinds.index(Kind.MATCH) == len(set(kinds)) - 1


async def test_days_that_are_over_are_not_proposed_and_today_is_one_thing_everywhere(world):
    plans = world.services.plans
    for _ in range(6):
        week, month = await plans.week("choir-1"), await plans.month("choir-1", date(2026, 9, 1))
        ahead = [day for day in week.days if day.on >= week.today]
        assert ahead == list(month.days[: len(ahead)])
        over = [day for day in week.days if day.on < week.today]
        assert {(day.kind, day.why) for day in over} <= {(Kind.CARD, Why.OVER)}
        await world.clock.advance(timedelta(days=1))


async def test_what_was_read_on_the_stage_is_used_and_nothing_is_kept_of_a_day_off(world):
    plans = world.services.plans
    proposed = [day.kind for day in (await plans.week("choir-1")).days]
    assert next(kind for kind in proposed if kind is not Kind.CARD) is Kind.RHYTHM_ONLY
    await plans.was_read("choir-1", Kind.RHYTHM_ONLY)
    week = [day.kind for day in (await plans.week("choir-1")).days]
    assert week[:2] == [Kind.RHYTHM_ONLY, Kind.CARD]
    assert Kind.RHYTHM_ONLY not in week[2:]
    await world.clock.advance(timedelta(days=5))  # a Saturday
    await plans.was_read("choir-1", Kind.RETROGRADE)
    async with world.database.snapshot() as read:
        assert len(await read.rows("SELECT * FROM plan_days")) == 1


async def test_a_playful_day_that_was_only_read_as_a_card_is_not_used_up(world):
    plans = world.services.plans
    await plans.was_read("choir-1", Kind.CARD)
    async with world.database.snapshot() as read:
        assert await read.rows("SELECT * FROM plan_days") == []  # nothing was kept for it
    await plans.keep("choir-1", {MONDAY: Kind.RHYTHM_ONLY})
    await plans.was_read("choir-1", Kind.CARD)
    await plans.keep("choir-1", {MONDAY: Kind.RHYTHM_ONLY})  # once more, after the lesson
    assert (await plans.week("choir-1")).days[0].kind is Kind.RHYTHM_ONLY
    await world.clock.advance(timedelta(days=1))
    assert (await plans.week("choir-1")).days[0].kind is Kind.CARD
    assert Kind.RHYTHM_ONLY in {day.kind for day in (await plans.week("choir-1")).days}


@pytest.mark.parametrize("order", list(permutations([Kind.CARD, Kind.RHYTHM_ONLY])))
async def test_a_day_that_was_read_both_ways_is_used_whichever_came_first(world, order):
    plans = world.services.plans
    for kind in order:
        await plans.was_read("choir-1", kind)
    await world.clock.advance(timedelta(days=1))
    assert (await plans.week("choir-1")).days[0].kind is Kind.RHYTHM_ONLY


async def test_short_lines_leave_no_room_for_the_curtain_and_no_story_is_no_story(world):
    await world.services.choirs.add(a_choir("choir-2", name="Small", measures=4))
    small = await world.services.plans.week("choir-2")
    assert Kind.CURTAIN not in small.offered
    large = await world.services.plans.week("choir-1")
    assert Kind.CURTAIN in large.offered


async def test_no_tune_is_offered_to_a_choir_that_has_met_none(world):
    steps = Steps(sequence="two-tones-first", pitch="p01", rhythm="r01")
    await world.services.choirs.add(a_choir("choir-2", name="Small", steps=steps))
    small = await world.services.plans.month("choir-2", OCTOBER)
    assert Kind.MYSTERY_TUNE not in small.offered
    assert all(day.kind is not Kind.MYSTERY_TUNE for day in small.days)
    with pytest.raises(Refused, match=r"tune\.none"):
        await world.services.play.mysteries.begin("choir-2")
    assert Kind.MYSTERY_TUNE in (await world.services.plans.week("choir-1")).offered


async def test_a_choir_without_meetings_in_a_month_has_no_plan(world):
    meeting = Meeting(pattern=Weekdays(days=frozenset({0})), days_off=frozenset())
    choir = a_choir("choir-3", name="Late", meeting=meeting, starts_on=date(2026, 11, 2))
    await world.services.choirs.add(choir)
    assert (await world.services.plans.month("choir-3", OCTOBER)).days == ()


async def test_a_line_for_a_day_from_the_right_keeps_every_rule_from_there_too(world):
    await world.services.plans.keep("choir-1", {THURSDAY: Kind.RETROGRADE})
    steps, sequence = (await world.services.choirs.get("choir-1")).steps, steps_first()
    ids = (steps.pitch, steps.rhythm, steps.voice)
    level = level_of(sequence, nearest_both_ways(sequence, ids))
    composing = world.assembly.composing
    for make in (composing.ensure, *(3 * [composing.redraw])):
        line = (await make("choir-1", THURSDAY)).exercise
        assert check(line, level, None) == ()
        assert check(retrograde(line), level, None) == ()


async def test_removing_a_choir_removes_its_plan(world):
    await world.services.plans.keep("choir-1", {TUESDAY: Kind.CURTAIN})
    await world.services.seating.rights.remove_choir("choir-1")
    async with world.database.snapshot() as read:
        assert await read.rows("SELECT * FROM plan_days") == []


async def test_a_choirs_export_has_its_plan_and_its_matches(world):
    await world.services.plans.keep("choir-1", {TUESDAY: Kind.CURTAIN})
    wish = MatchWish(heads=(Heads(label="Part I", count=8),), measures=4, turns=1)
    await world.services.matches.set_up("choir-1", wish)
    told = json.loads(await world.services.seating.rights.export("choir-1"))
    assert told["plan"] == {"2026-09-15": "curtain"}
    assert told["matches"] == [{"on": "2026-09-14", "left": 0, "right": 0}]
