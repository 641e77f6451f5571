"""Made in the background: kept before it is answered, once, taken up again, faults told."""

import asyncio
from contextlib import asynccontextmanager, suppress
from datetime import time

import pytest

from bot.activities.story_run import Venue
from bot.errors import Refused
from bot.service.makings import Made, Makings, Stopped
from bot.service.story_wish import StoryWish, begin_wished, wish_json, wish_kept
from bot.service.troubles import Troubles
from bot.store.makings import drop_wish
from tests.fakes.choirs import a_choir
from tests.fakes.clock import FakeClock
from tests.fakes.world import NINE, open_world
from tests.service.seated import rows_of
from tests.service.test_tellings import House

KEY = ("choir-1", Made.STORY)


class Maker:
    """Makes as a thread would: a line at a time, when the test lets it."""

    def __init__(self, world, fault=None):
        self._world, self.fault = world, fault
        self.made, self.going = [], asyncio.Event()

    async def make(self, choir_id, wish, said):
        said(1, 3)
        await self.going.wait()
        said(2, 3)
        if self.fault:
            raise self.fault
        self.made.append((choir_id, wish))
        async with self._world.database.transaction() as change:
            await drop_wish(change, choir_id, Made.STORY.value)


@pytest.fixture
async def world(tmp_path):
    async with open_world(tmp_path, FakeClock(NINE)) as found:
        await found.services.choirs.add(a_choir())
        yield found


@asynccontextmanager
async def at_work(world, maker, troubles=None):
    makings = Makings(world.database, troubles or Troubles(), {Made.STORY: maker.make})
    task = asyncio.create_task(makings.run())
    try:
        yield makings
    finally:
        task.cancel()
        with suppress(asyncio.CancelledError):
            await task


async def until(makings, wanted):
    """Wait until something made is so far."""
    for _ in range(400):
        found = await makings.of(*KEY)
        if wanted(found):
            return found
        await asyncio.sleep(0.005)
    raise AssertionError(found)


async def test_a_wish_is_answered_at_once_and_made_once(world):
    maker = Maker(world)
    async with at_work(world, maker) as makings:
        await makings.ask(*KEY, "first")
        await makings.ask(*KEY, "pressed twice")
        going = await until(makings, lambda found: found and found.done)
        assert (going.wish, going.done, going.whole, going.fault) == ("first", 1, 3, None)
        await makings.ask(*KEY, "and again")
        maker.going.set()
        await until(makings, lambda found: found is None)
    assert maker.made == [("choir-1", "first")]
    assert await rows_of(world.database, "makings") == []


async def test_a_stopped_program_takes_it_up_again(world):
    stopped = Maker(world)
    async with at_work(world, stopped) as makings:
        await makings.ask(*KEY, "half done")
        await until(makings, lambda found: found and found.done)
    assert stopped.made == []
    again = Maker(world)
    again.going.set()
    async with at_work(world, again) as makings:
        await until(makings, lambda found: found is None)
    assert again.made == [("choir-1", "half done")]


async def test_the_thread_of_a_stopped_program_ends_at_its_next_line(world):
    heard, begun = [], asyncio.Event()

    async def make(_choir_id, _wish, said):
        heard.append(said)
        begun.set()
        await asyncio.Event().wait()

    makings = Makings(world.database, Troubles(), {Made.STORY: make})
    task = asyncio.create_task(makings.run())
    await makings.ask(*KEY, "long")
    await begun.wait()
    heard[0](1, 2)
    task.cancel()
    await asyncio.gather(task, return_exceptions=True)
    with pytest.raises(Stopped):
        heard[0](2, 2)


async def test_what_cannot_be_made_is_told_until_it_is_asked_for_again(world):
    troubles, fault = Troubles(), Refused("telling.already")
    maker = Maker(world, fault)
    maker.going.set()
    async with at_work(world, maker, troubles) as makings:
        await makings.ask(*KEY, "in vain")
        failed = await until(makings, lambda found: found and found.fault)
        assert (failed.wish, failed.fault) == (None, fault)
        assert troubles.last("choir-1", "story") is fault
        assert await rows_of(world.database, "makings") == []
        maker.fault = None
        await makings.ask(*KEY, "once more")
        assert troubles.last("choir-1", "story") is None
        await until(makings, lambda found: found is None)
    assert maker.made == [("choir-1", "once more")]


async def test_a_story_begins_as_its_wish_says_and_the_wish_is_gone_with_it(world):
    house = House(world)
    wish = StoryWish(story_id="mill", venue=Venue.CLASS, closes=time(19, 30), quorum=7)
    assert wish_kept(wish_json(wish)) == wish

    async def begin(choir_id, text, said):
        await begin_wished(house.tellings, choir_id, text, said)

    makings = Makings(world.database, Troubles(), {Made.STORY: begin})
    await makings.ask(*KEY, wish_json(wish))
    await makings.round()
    run = await house.now()
    assert (run.closes, run.quorum) == (time(19, 30), 7)
    assert await makings.of(*KEY) is None
    with pytest.raises(Refused, match="already"):
        await house.tellings.may_begin("choir-1", Venue.CLASS)
    with pytest.raises(Refused, match="no_votes"):
        await house.tellings.may_begin("choir-1", Venue.HOME)
