"""Taps and what becomes of them: kept at once, folded at midnight, three figures a week."""

from datetime import date, datetime, timedelta

import pytest

from bot.activities.practice import Mark
from bot.activities.taps import Went
from bot.errors import Refused
from bot.privacy.approval import Activity
from bot.privacy.floors import shown_counts
from tests.fakes.choirs import MONDAY
from tests.fakes.clock import FakeClock
from tests.fakes.world import NINE, open_world
from tests.service.seated import posted, rows_of, seated


def at(day: date, hour: int = 9) -> datetime:
    return datetime.fromisoformat(f"{day}T{hour:02}:00:00-04:00")


def weekday(number: int, week: int = 0) -> date:
    return MONDAY + timedelta(days=number, weeks=week)


@pytest.fixture
async def world(tmp_path):
    async with open_world(tmp_path, FakeClock(NINE)) as opened:
        yield opened


@pytest.fixture
def practice(world):
    return world.services.seating.practice


async def seat_ids(world) -> list[str]:
    return [seat.id for seat in await world.services.seating.seats.of_choir("choir-1")]


async def a_seat(world, **changes) -> str:
    await seated(world, 1, **changes)
    return (await seat_ids(world))[0]


async def test_a_tap_is_there_as_soon_as_it_is_acknowledged(world, practice):
    seat = await a_seat(world)
    await posted(world, MONDAY)

    await practice.tap(seat, MONDAY, Went.BUMPY)

    days = await practice.days(seat)
    assert [(day.on, day.read, day.went) for day in days.days] == [(MONDAY, True, Went.BUMPY)]
    assert days.tried_today
    assert await rows_of(world.database, "taps") == [(seat, "2026-09-14", "2026-09-14", "bumpy")]


async def test_a_second_tap_of_the_day_changes_how_it_went_and_counts_once(world, practice):
    seat = await a_seat(world)
    await posted(world, MONDAY)

    await practice.tap(seat, MONDAY, Went.NOT_YET)
    await practice.tap(seat, MONDAY, Went.STEADY)

    assert await rows_of(world.database, "taps") == [(seat, "2026-09-14", "2026-09-14", "steady")]
    assert len(await rows_of(world.database, "read_days")) == 1


async def test_a_day_without_a_line_cannot_be_tapped(world, practice):
    seat = await a_seat(world)

    with pytest.raises(Refused, match=r"seat\.not_open"):
        await practice.tap(seat, MONDAY, Went.STEADY)


@pytest.mark.parametrize(("back", "open_still"), [(0, True), (3, True), (4, False), (-1, False)])
async def test_a_day_can_be_filled_in_for_three_days(world, practice, back, open_still):
    seat = await a_seat(world)
    await posted(world, *(weekday(n) for n in range(5)))
    world.clock.set(at(weekday(4)))

    if open_still:
        await practice.tap(seat, weekday(4 - back), Went.STEADY)
    else:
        with pytest.raises(Refused, match=r"seat\.not_open"):
            await practice.tap(seat, weekday(4 - back), Went.STEADY)

    assert len(await rows_of(world.database, "taps")) == open_still


async def test_a_day_before_the_seat_was_made_is_not_offered_to_it(world, practice):
    await posted_with_choir(world)
    seat = (await seat_ids(world))[0]

    assert [day.on for day in (await practice.days(seat)).days] == [MONDAY]


async def posted_with_choir(world) -> None:
    await seated(world, 1)
    await posted(world, MONDAY - timedelta(days=3), MONDAY)


async def test_midnight_turns_taps_into_counts_of_the_class(world, practice):
    await seated(world, 3)
    await posted(world, MONDAY)
    for seat, went in zip(
        await seat_ids(world), (Went.STEADY, Went.STEADY, Went.NOT_YET), strict=True
    ):
        await practice.tap(seat, MONDAY, went)

    world.clock.set(at(MONDAY, 23))
    await practice.fold("choir-1")
    assert len(await rows_of(world.database, "taps")) == 3
    world.clock.set(at(weekday(1), 0))
    await practice.fold("choir-1")

    assert await rows_of(world.database, "taps") == []
    assert sorted(await rows_of(world.database, "class_counts")) == [
        ("choir-1", "2026-09-14", "not_yet", 1),
        ("choir-1", "2026-09-14", "steady", 2),
    ]


async def test_a_day_that_was_folded_is_never_counted_twice(world, practice):
    seat = await a_seat(world)
    await posted(world, MONDAY)
    await practice.tap(seat, MONDAY, Went.STEADY)
    world.clock.set(at(weekday(1)))
    await practice.fold("choir-1")

    await practice.tap(seat, MONDAY, Went.BUMPY)
    world.clock.set(at(weekday(2)))
    await practice.fold("choir-1")

    assert await rows_of(world.database, "class_counts") == [("choir-1", "2026-09-14", "steady", 1)]


async def test_a_tap_before_a_late_midnight_is_not_lost_and_not_doubled(world, practice):
    """The laptop slept through midnight; a phone changes yesterday's answer before it folds."""
    seat = await a_seat(world)
    await posted(world, MONDAY)
    await practice.tap(seat, MONDAY, Went.STEADY)
    world.clock.set(at(weekday(1)))

    await practice.tap(seat, MONDAY, Went.BUMPY)
    await practice.fold("choir-1")
    world.clock.set(at(weekday(2)))
    await practice.fold("choir-1")

    assert await rows_of(world.database, "class_counts") == [("choir-1", "2026-09-14", "bumpy", 1)]


async def test_the_row_shows_days_and_weeks_kept(world, practice):
    seat = await a_seat(world)
    await posted(world, *(weekday(n) for n in range(5)))
    for day in (0, 1, 2):
        world.clock.set(at(weekday(day)))
        await practice.tap(seat, weekday(day), Went.STEADY)
    world.clock.set(at(weekday(3)))
    await practice.give_rest("choir-1", weekday(3))

    row = (await practice.days(seat)).row

    assert [day.mark for day in row.weeks[0]] == [Mark.READ] * 3 + [Mark.REST]
    assert (row.in_a_row, row.kept) == (1, 1)


async def test_the_row_is_the_same_before_and_after_weeks_are_folded(world, practice):
    seat = await a_seat(world)
    read = {weekday(n, w) for w, days in enumerate(("012", "01", "0123")) for n in map(int, days)}
    for week in range(4):
        await posted(world, *(weekday(n, week) for n in range(5)))
    kept = []
    for day in (weekday(n) for n in range(28)):
        world.clock.set(at(day))
        await practice.fold("choir-1")
        if day in read:
            await practice.tap(seat, day, Went.STEADY)
        kept.append((await practice.days(seat)).row.kept)

    row = (await practice.days(seat)).row

    assert kept == sorted(kept)
    # Week two spent one rest of six, and the last week, still going, is no week against anybody.
    assert (row.in_a_row, row.kept, row.rests_left) == (3, 3, 5)
    assert [w[1:] for w in await rows_of(world.database, "week_counts")] == [
        ("2026-09-14", 5, 3),
        ("2026-09-21", 5, 2),
    ]
    oldest = min(day for _, day in await rows_of(world.database, "read_days"))
    assert date.fromisoformat(oldest) >= weekday(27) - timedelta(days=14)


async def test_without_a_practice_row_days_are_kept_for_three_days_only(world, practice):
    seat = await a_seat(world, activities=frozenset({Activity.TAPS}))
    await posted(world, MONDAY)
    await practice.tap(seat, MONDAY, Went.STEADY)

    world.clock.set(at(weekday(3)))
    await practice.fold("choir-1")
    assert len(await rows_of(world.database, "read_days")) == 1
    world.clock.set(at(weekday(4)))
    await practice.fold("choir-1")

    assert await rows_of(world.database, "read_days") == []
    assert (await practice.days(seat)).row is None
    assert await rows_of(world.database, "week_counts") == []


async def test_a_sheet_without_taps_takes_none(world, practice):
    seat = await a_seat(world, activities=frozenset())
    await posted(world, MONDAY)

    with pytest.raises(Refused, match=r"seat\.no_taps"):
        await practice.tap(seat, MONDAY, Went.STEADY)


async def test_the_director_sees_counts_of_five_or_more_and_never_todays(world, practice):
    await seated(world, 6)
    await posted(world, MONDAY, weekday(1))
    ids = await seat_ids(world)
    for seat in ids:
        await practice.tap(seat, MONDAY, Went.STEADY)
    assert await practice.counts("choir-1") == ()

    world.clock.set(at(weekday(1)))
    await practice.tap(ids[0], weekday(1), Went.NOT_YET)
    world.clock.set(at(weekday(2)))
    await practice.fold("choir-1")

    (tuesday, few), (monday, all_six) = await practice.counts("choir-1")
    assert (tuesday, few.total) == (weekday(1), None)
    assert set(few.parts.values()) == {None}
    assert (monday, all_six.total, all_six.parts["steady"]) == (MONDAY, 6, 6)


@pytest.mark.parametrize(
    ("counts", "shown"),
    [
        ((4, 0, 0), (None, None, None, None)),
        ((5, 0, 0), (5, 5, 0, 0)),
        ((9, 2, 0), (11, 9, None, None)),
        ((9, 2, 1), (12, 9, None, None)),
        ((9, 6, 1), (16, 9, None, None)),
        ((2, 2, 2), (6, None, None, None)),
    ],
)
def test_no_figure_points_at_a_few_nor_can_be_reckoned_from_the_others(counts, shown):
    found = shown_counts(dict(zip(("steady", "bumpy", "not_yet"), counts, strict=True)), 5)

    assert (found.total, *found.parts.values()) == shown
    hidden = [name for name, count in found.parts.items() if count is None]
    assert found.total is None or len(hidden) != 1


async def test_an_approval_that_ended_takes_no_tap_and_keeps_no_day_for_long(world, practice):
    seat = await a_seat(world, expires_on="2026-09-14", term_ends_on="2026-09-14")
    await posted(world, MONDAY, weekday(1))
    await practice.tap(seat, MONDAY, Went.STEADY)
    world.clock.set(at(weekday(1)))

    with pytest.raises(Refused, match=r"seat\.closed"):
        await practice.tap(seat, weekday(1), Went.STEADY)
    await practice.fold("choir-1")

    assert await rows_of(world.database, "taps") == []
    assert len(await rows_of(world.database, "class_counts")) == 1
    world.clock.set(at(weekday(0, 2)))
    await practice.fold("choir-1")
    assert await rows_of(world.database, "read_days") == []


async def test_a_forgotten_seat_takes_no_tap(world, practice):
    seat = await a_seat(world)
    await posted(world, MONDAY)
    await world.services.seating.rights.forget(seat, by_director=False)

    with pytest.raises(Refused, match=r"seat\.closed"):
        await practice.tap(seat, MONDAY, Went.STEADY)
