"""The demonstration: invented choirs at once, three weeks of readings behind them soon after."""

from datetime import date, timedelta

import pytest

from bot.errors import InputProblems, SettingsProblem
from bot.service.demo import Demo, read_demo
from bot.store.database import Database
from tests.fakes.choirs import NEW_YORK
from tests.fakes.clock import FakeClock
from tests.fakes.world import CONTENT, NINE, content, open_world

FILE = CONTENT / "demo" / "choirs.toml"
TODAY = date(2026, 9, 14)


@pytest.fixture
async def world(tmp_path):
    async with open_world(tmp_path, FakeClock(NINE)) as opened:
        yield opened


def demo_of(world) -> Demo:
    return Demo(world.database, content(), world.clock, FILE, NEW_YORK)


async def test_three_choirs_are_there_before_their_past(world):
    await demo_of(world).plant()

    choirs = await world.services.choirs.all()
    boards = [await world.services.readings.board(choir.id) for choir in choirs]
    assert [len(choir.voices) for choir in choirs] == [1, 3, 2]
    assert len({choir.name for choir in choirs}) == 3
    assert [len(board) for board in boards] == [1, 1, 1]


async def test_every_past_meeting_of_three_weeks_has_its_reading(world):
    demo = demo_of(world)

    await demo.fill(await demo.plant())

    choirs = await world.services.choirs.all()
    boards = [await world.services.readings.board(choir.id) for choir in choirs]
    trebles, low, mixed = ([card.on for card in board] for board in boards)
    weekdays = [TODAY - timedelta(days=n) for n in range(21, 0, -1)]
    assert trebles == low == [day for day in weekdays if day.weekday() < 5]
    assert mixed == trebles[::2]  # every other school day


async def test_a_choir_moved_on_in_its_past(world):
    demo = demo_of(world)
    await demo.fill(await demo.plant())

    async with world.database.snapshot() as read:
        rows = await read.rows(
            "SELECT DISTINCT step_pitch FROM readings WHERE choir_id = 'demo-trebles' "
            "ORDER BY read_on"
        )

    assert [row["step_pitch"] for row in rows] == ["p02", "p03"]


async def test_opened_again_nothing_is_planted_or_read_twice(tmp_path):
    clock = FakeClock(NINE)
    for _ in range(2):
        async with open_world(tmp_path, clock) as world:
            demo = demo_of(world)
            await demo.fill(await demo.plant())
            board = await world.services.readings.board("demo-trebles")

    assert len(board) == 15
    assert len({card.on for card in board}) == 15


async def test_opened_again_a_week_later_no_day_is_missing(tmp_path):
    clock = FakeClock(NINE)
    async with open_world(tmp_path, clock) as world:
        demo = demo_of(world)
        await demo.fill(await demo.plant())
    clock.set(NINE + timedelta(days=8))

    async with open_world(tmp_path, clock) as world:
        demo = demo_of(world)
        choirs = await demo.plant()
        await world.assembly.scheduler.round()
        await demo.fill(choirs)
        status = await world.services.status()

    assert [choir.missed for choir in status.choirs] == [(), (), ()]


async def test_a_choir_that_was_removed_gets_no_past(world):
    demo = demo_of(world)
    choirs = await demo.plant()
    await world.services.choirs.remove("demo-trebles")

    await demo.fill(choirs, days=2)

    assert len(await world.services.choirs.all()) == 2


def test_it_never_touches_a_schools_data(world):
    real = Database(None, "real")

    with pytest.raises(SettingsProblem, match="never planted"):
        Demo(real, content(), world.clock, FILE, NEW_YORK)


def test_a_faulty_file_says_what_is_wrong():
    with pytest.raises(InputProblems, match="weeks"):
        read_demo('[[choir]]\nid = "x"', content(), today=TODAY, zone=NEW_YORK)
