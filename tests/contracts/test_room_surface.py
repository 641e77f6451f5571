"""The room as a surface: what the store holds is what stands on its boards."""

import pytest

from bot.activities.reading_day import Claimed, Composed, ReadingDay, apply
from bot.chat.room.server import Room, RoomOptions
from bot.store.deliveries import begin_day
from bot.store.readings import add_reading
from tests.contracts.surface_contract import CARD, SurfaceContract
from tests.fakes.choirs import a_choir, a_reading, an_exercise
from tests.fakes.clock import FakeClock
from tests.fakes.world import EIGHT, open_world


class TestRoom(SurfaceContract):
    @pytest.fixture
    async def world(self, tmp_path):
        async with open_world(tmp_path, FakeClock(EIGHT)) as opened:
            for choir_id in ("choir-1", "choir-2"):
                await opened.services.choirs.add(a_choir(choir_id))
            yield opened

    @pytest.fixture
    def surface(self, world):
        self.world = world
        return Room(world.services, RoomOptions(port=0))

    async def ready(self, surface, card):
        reading = a_reading(
            card.reading_id, choir_id=card.choir_id, on=card.on, exercise=an_exercise(0, 1, 2, 3)
        )
        day = ReadingDay(
            choir_id=card.choir_id, on=card.on, slot=reading.slot, surface=surface.name
        )
        claimed = apply(apply(day, Composed(reading_id=reading.id)), Claimed(at=EIGHT))
        async with self.world.database.transaction() as change:
            await add_reading(change, reading)
            await begin_day(change, claimed)

    async def test_a_card_stands_on_the_board_before_it_is_announced(self, surface):
        """A process that dies between claim and post has posted: the board shows the claim."""
        await self.ready(surface, CARD)

        assert await surface.find(CARD) == CARD.reading_id
