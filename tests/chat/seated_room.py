"""A room with an approval, three seats and a line that is up, over the real service."""

import pytest

from bot.chat.room.server import Room, RoomOptions
from bot.privacy.approval import Activity
from tests.chat.conftest import visit
from tests.fakes.clock import FakeClock
from tests.fakes.world import NINE, open_world
from tests.privacy.sheets import ALL
from tests.service.seated import seated

__all__ = ["room", "singer", "sit", "slips", "visit", "world"]


@pytest.fixture
async def world(tmp_path):
    async with open_world(tmp_path, FakeClock(NINE)) as opened:
        yield opened


@pytest.fixture
async def slips(world):
    made = await seated(world, 3, remembered_devices=True, activities=ALL | {Activity.SPAN})
    await world.assembly.scheduler.round()
    return made


@pytest.fixture
async def room(world, slips):
    opened = Room(world.services, RoomOptions(port=0))
    await opened.start()
    yield opened
    await opened.stop()


@pytest.fixture
async def singer(visit, room):
    return visit(room)


async def sit(visitor, code, **fields):
    return await visitor.post("/seat", {"code": code, **fields})
