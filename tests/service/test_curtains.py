"""The curtain over the real store: drawn places, falls that are kept, and the class's span."""

import pytest

from bot.activities.choir import Steps
from bot.activities.curtain import FIRST_SPAN, places
from bot.errors import Refused
from bot.service.curtains import Curtains
from bot.store.readings import find_reading
from tests.fakes.choirs import a_choir
from tests.fakes.clock import FakeClock
from tests.fakes.world import NINE, open_world


@pytest.fixture
async def world(tmp_path):
    async with open_world(tmp_path, FakeClock(NINE)) as opened:
        await opened.services.choirs.add(
            a_choir(steps=Steps(pitch="p06", rhythm="r04"), measures=8)
        )
        yield opened


@pytest.fixture
async def line(world):
    """The id of today's line."""
    return (await world.services.lesson.line("choir-1")).card.reading_id


@pytest.fixture
def curtains(world) -> Curtains:
    return world.services.play.curtains


async def test_a_place_that_is_drawn_is_one_where_the_curtain_may_fall(world, curtains, line):
    async with world.database.snapshot() as read:
        exercise = (await find_reading(read, line)).exercise
    possible = {float(place.pulses) for place in places(exercise, FIRST_SPAN)}
    found = {await curtains.place("choir-1", line) for _ in range(30)}
    assert found <= possible
    assert len(found) > 5


async def test_the_place_of_the_last_fall_is_not_drawn_again(curtains, line):
    for _ in range(12):
        place = await curtains.place("choir-1", line)
        await curtains.fell("choir-1", line, place, by_hand=False)
        assert await curtains.place("choir-1", line) != place


async def test_what_the_class_held_becomes_its_span(curtains, line):
    fallen = await curtains.fell("choir-1", line, 9.0, by_hand=True)
    before = await curtains.span("choir-1")
    await curtains.held("choir-1", fallen.number, 5)
    after = await curtains.span("choir-1")

    assert (before.now, before.counted, before.weeks) == (FIRST_SPAN, False, ())
    assert (after.now, after.counted) == (5, True)
    assert [(week.middle, week.times) for week in after.weeks] == [(5.0, 1)]


async def test_a_number_that_cannot_be_is_refused_and_can_be_mended(curtains, line):
    fallen = await curtains.fell("choir-1", line, 30.0, by_hand=False)
    for beats in (-1, fallen.left + 1):
        with pytest.raises(Refused, match=r"curtain\.beats"):
            await curtains.held("choir-1", fallen.number, beats)
    with pytest.raises(Refused, match=r"curtain\.unknown"):
        await curtains.held("choir-1", fallen.number + 1, 1)
    await curtains.held("choir-1", fallen.number, 0)
    await curtains.held("choir-1", fallen.number, 1)
    assert (await curtains.span("choir-1")).now == 1


@pytest.mark.parametrize("pulses", [-1.0, 32.0, 1000.0])
async def test_a_fall_outside_the_line_is_refused(curtains, line, pulses):
    with pytest.raises(Refused, match=r"curtain\.outside"):
        await curtains.fell("choir-1", line, pulses, by_hand=True)


async def test_removing_the_choir_removes_its_falls(world, curtains, line):
    await curtains.fell("choir-1", line, 9.0, by_hand=False)
    await world.services.choirs.remove("choir-1")
    async with world.database.snapshot() as read:
        assert await read.rows("SELECT * FROM curtain_falls") == []
