"""The demonstration: invented choirs at once, three weeks of readings behind them soon after."""

from datetime import date, timedelta

import pytest

from bot.activities.practice import Mark
from bot.errors import InputProblems, SettingsProblem
from bot.privacy.approval import Purpose
from bot.service.approvals import Standing
from bot.service.demo import Demo, read_demo
from bot.service.demo_seats import DEMO_CODE, SEATS, plant_seats
from bot.service.services import assemble
from bot.store.choirs import add_choir
from bot.store.database import Database
from bot.store.folder import open_database
from tests.fakes.choirs import NEW_YORK
from tests.fakes.clock import FakeClock
from tests.fakes.renderer import InstantRenderer
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


@pytest.fixture
async def seated(tmp_path):
    """A demonstration as `--demo` opens it: choirs, seats, past."""
    async with open_database(tmp_path, born="demo") as database:
        clock = FakeClock(NINE)
        assembly = assemble(database, content(), InstantRenderer(), clock, tmp_path)
        demo = Demo(database, content(), clock, FILE, NEW_YORK)
        planted = await demo.plant()
        await demo.seat(planted, tmp_path)
        await demo.fill(planted, days=7)
        yield assembly.services.seating


async def test_the_code_of_the_demonstration_opens_a_seat_with_weeks_behind_it(seated):
    sitting = await seated.seats.sit(DEMO_CODE)

    days = await seated.practice.days(sitting.seat.id)

    assert sitting.seat.choir_id == "demo-trebles"
    assert days.row is not None
    assert days.row.kept >= 1
    marks = {day.mark for week in days.row.weeks for day in week}
    assert Mark.READ in marks


async def test_the_class_has_counts_of_four_weeks_and_the_third_choir_has_no_seats(seated):
    assert len(await seated.seats.of_choir("demo-low-voices")) == SEATS
    counts = await seated.practice.counts("demo-trebles")
    assert len(counts) == 15
    assert all(shown.total is not None and shown.total <= SEATS for _, shown in counts)
    assert await seated.seats.of_choir("demo-mixed") == ()
    assert await seated.practice.counts("demo-mixed") == ()


async def test_the_invented_approval_is_one_for_demonstrations(seated):
    (line,) = await seated.approvals.lines()
    assert (line.sheet.purpose, line.standing) == (Purpose.DEMO, Standing.HOLDS)


async def test_seats_are_invented_once(tmp_path):
    text = FILE.read_text(encoding="utf-8")
    choirs = [one.choir for one in read_demo(text, content(), today=TODAY, zone=NEW_YORK)][:1]
    async with open_database(tmp_path, born="demo") as database:
        async with database.transaction() as change:
            await add_choir(change, choirs[0], TODAY)
        assert await plant_seats(database, tmp_path, choirs, {}, TODAY)
        assert not await plant_seats(database, tmp_path, choirs, {}, TODAY)


async def test_a_schools_data_take_no_invented_seats(tmp_path):
    async with open_database(tmp_path, born="real") as database:
        with pytest.raises(ValueError, match="never planted"):
            await plant_seats(database, tmp_path, [], {}, TODAY)
