"""What a director settles for one day: a pinned line, and steps of its own."""

from dataclasses import replace
from datetime import timedelta

import pytest

from bot.activities.calendar import Meeting, Weekdays
from bot.activities.choir import Steps
from bot.errors import InputProblems, NoExercise, Refused
from bot.music.pitch import Pitch
from bot.music.voice import VoiceRange
from tests.fakes.choirs import BARITONE, MONDAY, TREBLE, a_choir
from tests.fakes.clock import FakeClock
from tests.fakes.world import NINE, SIX, open_world

CHOIR = a_choir(steps=Steps(pitch="p03", rhythm="r02"))
TUESDAY, WEDNESDAY = MONDAY + timedelta(days=1), MONDAY + timedelta(days=2)


@pytest.fixture
async def world(tmp_path):
    async with open_world(tmp_path, FakeClock(SIX)) as opened:
        await opened.services.choirs.add(CHOIR)
        yield opened


@pytest.fixture
def readings(world):
    return world.services.readings


async def day(readings, on):
    return next(one for one in await readings.upcoming(CHOIR.id) if one.on == on)


async def test_a_day_at_another_step_leaves_the_choir_and_its_other_days_alone(world, readings):
    wednesday = await readings.preview(CHOIR.id, WEDNESDAY)

    await readings.swap_steps(CHOIR.id, TUESDAY, "p01", "r01")

    tuesday = await day(readings, TUESDAY)
    assert (tuesday.steps.pitch, tuesday.steps.rhythm, tuesday.swapped) == ("p01", "r01", True)
    assert (await world.services.choirs.get(CHOIR.id)).steps == CHOIR.steps
    assert await readings.preview(CHOIR.id, WEDNESDAY) == wednesday
    assert not (await day(readings, WEDNESDAY)).swapped


async def test_another_line_of_such_a_day_is_at_its_own_step_too(readings):
    first = await readings.swap_steps(CHOIR.id, TUESDAY, "p01", "r01")

    second = await readings.redraw(CHOIR.id, TUESDAY)

    assert second.reading_id != first.reading_id
    assert (await day(readings, TUESDAY)).steps.pitch == "p01"


async def test_going_back_to_the_choirs_step_is_one_swap(readings):
    await readings.swap_steps(CHOIR.id, TUESDAY, "p01", "r01")
    await readings.swap_steps(CHOIR.id, TUESDAY, "p03", "r02")
    assert not (await day(readings, TUESDAY)).swapped


async def test_a_day_at_its_own_step_and_a_pinned_line_stay_when_the_choir_moves_on(
    world, readings
):
    tuesday = await readings.swap_steps(CHOIR.id, TUESDAY, "p01", "r01")
    wednesday = await readings.preview(CHOIR.id, WEDNESDAY)
    await readings.pin(CHOIR.id, WEDNESDAY, pinned=True)
    monday = await readings.preview(CHOIR.id, MONDAY)

    await world.services.choirs.change(replace(CHOIR, steps=Steps(pitch="p04", rhythm="r02")))

    assert await readings.preview(CHOIR.id, TUESDAY) == tuesday
    assert await readings.preview(CHOIR.id, WEDNESDAY) == wednesday
    assert (await readings.preview(CHOIR.id, MONDAY)).reading_id != monday.reading_id


async def test_a_pinned_line_keeps_its_length_and_key_too(world, readings):
    line = await readings.preview(CHOIR.id, TUESDAY)
    await readings.pin(CHOIR.id, TUESDAY, pinned=True)
    await world.services.choirs.change(replace(CHOIR, key="D", measures=4))
    assert await readings.preview(CHOIR.id, TUESDAY) == line


async def test_no_pin_holds_a_line_that_the_voices_cannot_sing(world, readings):
    line = await readings.preview(CHOIR.id, TUESDAY)
    await readings.pin(CHOIR.id, TUESDAY, pinned=True)

    await world.services.choirs.change(replace(CHOIR, voices=(BARITONE,)))

    assert (await readings.preview(CHOIR.id, TUESDAY)).reading_id != line.reading_id
    assert not (await day(readings, TUESDAY)).pinned


async def test_a_pinned_line_is_drawn_again_only_after_its_pin_is_out(readings):
    await readings.pin(CHOIR.id, TUESDAY, pinned=True)
    assert (await day(readings, TUESDAY)).pinned
    for change in (
        readings.redraw(CHOIR.id, TUESDAY),
        readings.swap_steps(CHOIR.id, TUESDAY, "p01", "r01"),
    ):
        with pytest.raises(Refused, match=r"reading\.pinned"):
            await change

    await readings.pin(CHOIR.id, TUESDAY, pinned=False)

    await readings.redraw(CHOIR.id, TUESDAY)
    assert not (await day(readings, TUESDAY)).pinned


async def test_what_is_up_is_neither_pinned_nor_swapped(world, readings):
    world.clock.set(NINE)
    await world.assembly.scheduler.round()
    with pytest.raises(Refused, match=r"reading\.posted"):
        await readings.pin(CHOIR.id, MONDAY, pinned=True)
    with pytest.raises(Refused, match=r"reading\.posted"):
        await readings.swap_steps(CHOIR.id, MONDAY, "p01", "r01")
    await world.services.choirs.change(replace(CHOIR, steps=Steps(pitch="p04", rhythm="r02")))
    assert not (await day(readings, MONDAY)).swapped  # the choir has moved on, not that day


async def test_steps_that_are_not_there_or_cannot_be_sung_change_nothing(world, readings):
    before = await readings.preview(CHOIR.id, TUESDAY)
    with pytest.raises(InputProblems):
        await readings.swap_steps(CHOIR.id, TUESDAY, "p99", "r01")
    assert await readings.preview(CHOIR.id, TUESDAY) == before

    low, high = Pitch.parse("D4"), Pitch.parse("A4")
    narrow = VoiceRange(low=low, high=high, tessitura_low=low, tessitura_high=high)
    small = a_choir("small", voices=(replace(TREBLE, range=narrow),))
    await world.services.choirs.add(small)
    kept = await readings.preview("small", TUESDAY)
    with pytest.raises(NoExercise):
        await readings.swap_steps("small", TUESDAY, "p08", "r01")
    assert await readings.preview("small", TUESDAY) == kept


async def test_a_pin_outlives_the_calendar(world, readings):
    line = await readings.preview(CHOIR.id, TUESDAY)
    await readings.pin(CHOIR.id, TUESDAY, pinned=True)
    weekdays = Weekdays(days=frozenset(range(5)))
    off = Meeting(pattern=weekdays, days_off=frozenset({TUESDAY}))
    await world.services.choirs.change(replace(CHOIR, meeting=off))
    await world.services.choirs.change(CHOIR)
    assert await readings.preview(CHOIR.id, TUESDAY) == line
