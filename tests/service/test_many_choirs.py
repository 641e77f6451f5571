"""Many choirs due at the same minute, on a surface that takes its time to answer."""

import asyncio

from tests.fakes.choirs import a_choir
from tests.fakes.clock import FakeClock
from tests.fakes.surface import FakeSurface
from tests.fakes.world import EIGHT, open_world

CHOIRS = 30


class SlowSurface(FakeSurface):
    """Answers after a fifth of a second; counts how many wait at the same moment."""

    def __init__(self, name: str) -> None:
        super().__init__(name)
        self.waiting = self.most = 0

    async def post(self, card, nonce):
        self.waiting += 1
        self.most = max(self.most, self.waiting)
        await asyncio.sleep(0.2)
        self.waiting -= 1
        return await super().post(card, nonce)


async def test_choirs_of_a_surface_go_up_together_and_each_line_once(tmp_path):
    clock, far = FakeClock(EIGHT), SlowSurface("far")
    async with open_world(tmp_path, clock, far) as world:
        for number in range(CHOIRS):
            await world.services.choirs.add(a_choir(f"choir-{number}"))

        await world.assembly.scheduler.round()

        assert sorted(far.keys) == sorted(f"choir-{n}.2026-09-14.daily" for n in range(CHOIRS))
        assert far.most > CHOIRS // 3


async def test_a_surface_that_does_not_answer_holds_up_none_before_it(tmp_path):
    near, far = FakeSurface("room"), SlowSurface("far")
    up_by_then = []
    far.before_store = lambda: up_by_then.append(len(near.cards))
    async with open_world(tmp_path, FakeClock(EIGHT), near, far) as world:
        for number in range(3):
            await world.services.choirs.add(a_choir(f"choir-{number}"))

        await world.assembly.scheduler.round()

    assert up_by_then == [3, 3, 3]
