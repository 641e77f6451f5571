"""Many choirs due at the same minute, on surfaces that take their time to answer."""

import asyncio

from tests.fakes.choirs import MONDAY, a_choir
from tests.fakes.clock import FakeClock
from tests.fakes.surface import FakeSurface
from tests.fakes.world import EIGHT, open_world

CHOIRS = 12


class GatheringSurface(FakeSurface):
    """Answers only when so many cards are under way at the same moment."""

    def __init__(self, name, together):
        super().__init__(name)
        self.all_here = asyncio.Barrier(together)

    async def post(self, card, nonce):
        await asyncio.wait_for(self.all_here.wait(), 20)
        return await super().post(card, nonce)


class WaitingSurface(FakeSurface):
    """Answers only when something has happened elsewhere."""

    def __init__(self, name):
        super().__init__(name)
        self.go_on = asyncio.Event()

    async def post(self, card, nonce):
        await asyncio.wait_for(self.go_on.wait(), 20)
        return await super().post(card, nonce)


async def ready_choirs(world, count):
    for number in range(count):
        await world.services.choirs.add(a_choir(f"choir-{number}"))
        await world.services.readings.preview(f"choir-{number}", MONDAY)


async def test_choirs_of_a_surface_go_up_together_and_each_line_once(tmp_path):
    far = GatheringSurface("far", together=CHOIRS)
    async with open_world(tmp_path, FakeClock(EIGHT), far) as world:
        await ready_choirs(world, CHOIRS)

        await world.assembly.scheduler.round()

    assert sorted(far.keys) == sorted(f"choir-{n}.2026-09-14.daily" for n in range(CHOIRS))


async def test_a_surface_that_does_not_answer_holds_up_no_other(tmp_path):
    near, far = FakeSurface("room"), WaitingSurface("far")
    near.after_store = lambda: far.go_on.set() if len(near.cards) == 3 else None
    async with open_world(tmp_path, FakeClock(EIGHT), far, near) as world:
        await ready_choirs(world, 3)

        await world.assembly.scheduler.round()

    assert sorted(near.keys) == sorted(far.keys)
    assert len(near.keys) == 3
