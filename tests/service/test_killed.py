"""Whatever dies at whatever await, a card goes up once after a restart, or is told of."""

import asyncio
from datetime import timedelta

import pytest

from bot.activities.reading_day import Phase
from tests.fakes.choirs import MONDAY, a_choir
from tests.fakes.clock import FakeClock
from tests.fakes.interruption import Killed, count_suspensions, interrupt
from tests.fakes.surface import FakeSurface
from tests.fakes.world import EIGHT, open_world, phase_of

CHOIR = a_choir()
KEY = "choir-1.2026-09-14.daily"
MOST_SUSPENSIONS = 45  # of one posting; a test below shows that it has fewer


@pytest.fixture
def clock():
    return FakeClock(EIGHT)


@pytest.fixture
def surface():
    return FakeSurface("room")


async def start(folder, clock, surface) -> None:
    """Set the choir up, the line ready, and leave."""
    async with open_world(folder, clock, surface) as world:
        await world.services.choirs.add(CHOIR)
        await world.services.readings.preview(CHOIR.id, MONDAY)


async def test_one_posting_has_fewer_awaits_than_the_kills_reach(tmp_path, clock, surface):
    await start(tmp_path, clock, surface)

    async with open_world(tmp_path, clock, surface) as world:
        assert await count_suspensions(world.assembly.scheduler.round()) < MOST_SUSPENSIONS


async def killed_at(at: int, folder, clock, surface, error: BaseException) -> None:
    """Run a round of postings and let it die at one of its awaits."""
    async with open_world(folder, clock, surface) as world:
        try:
            await interrupt(world.assembly.scheduler.round(), at, error)
        except (Killed, asyncio.CancelledError):
            return


@pytest.mark.parametrize("away", [timedelta(seconds=20), timedelta(hours=3)])
@pytest.mark.parametrize("at", range(1, MOST_SUSPENSIONS))
async def test_killed_at_any_await_the_card_is_up_once_after_a_restart(
    tmp_path, clock, surface, at, away
):
    await start(tmp_path, clock, surface)
    await killed_at(at, tmp_path, clock, surface, Killed())
    await clock.advance(away)
    if away > timedelta(minutes=5):
        surface.forget_nonces()

    async with open_world(tmp_path, clock, surface) as world:
        await world.assembly.scheduler.round()

        assert surface.keys == [KEY]
        assert await phase_of(world, CHOIR.id, MONDAY) is Phase.SENT


@pytest.mark.parametrize("at", range(1, MOST_SUSPENSIONS + 15, 4))
async def test_killed_while_the_line_is_still_being_composed_it_is_up_once_later(
    tmp_path, clock, surface, at
):
    async with open_world(tmp_path, clock, surface) as world:
        await world.services.choirs.add(CHOIR)
    await killed_at(at, tmp_path, clock, surface, Killed())

    async with open_world(tmp_path, clock, surface) as world:
        await world.assembly.scheduler.round()
        board = await world.services.readings.board(CHOIR.id)

    assert [card.reading_id for card in surface.cards] == [card.reading_id for card in board]
    assert surface.keys == [KEY]


@pytest.mark.parametrize("at", range(1, MOST_SUSPENSIONS, 3))
async def test_cancelled_at_any_await_the_card_is_up_once_after_a_restart(
    tmp_path, clock, surface, at
):
    await start(tmp_path, clock, surface)
    await killed_at(at, tmp_path, clock, surface, asyncio.CancelledError())

    async with open_world(tmp_path, clock, surface) as world:
        await world.assembly.scheduler.round()

    assert surface.keys == [KEY]


@pytest.mark.parametrize("at", range(1, MOST_SUSPENSIONS, 2))
async def test_where_nobody_can_look_a_card_is_up_once_or_called_unsure(
    tmp_path, clock, surface, at
):
    await start(tmp_path, clock, surface)
    await killed_at(at, tmp_path, clock, surface, Killed())
    await clock.advance(timedelta(hours=3))
    surface.forget_nonces()
    surface.readable = False

    async with open_world(tmp_path, clock, surface) as world:
        await world.assembly.scheduler.round()
        found = await phase_of(world, CHOIR.id, MONDAY)
        status = await world.services.status()

    told = found is Phase.UNSURE and status.choirs[0].unsure == (MONDAY,)
    assert told or (found is Phase.SENT and surface.keys == [KEY])
    assert len(surface.keys) <= 1
