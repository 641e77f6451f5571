"""What goes by itself, what may be asked for, and that nothing is left of it in any byte."""

import json
from datetime import datetime, timedelta

import pytest

from bot.activities.taps import Went
from bot.errors import Refused
from bot.service.approvals import Action
from bot.store.backup import portable_copy
from bot.store.folder import DATABASE
from bot.store.keys import KEYS
from tests.fakes.choirs import MONDAY, a_choir
from tests.fakes.clock import FakeClock
from tests.fakes.world import NINE, open_world
from tests.service.seated import posted, rows_of, seated, sign


@pytest.fixture
async def world(tmp_path):
    async with open_world(tmp_path, FakeClock(NINE)) as opened:
        yield opened


@pytest.fixture
def seating(world):
    return world.services.seating


def on(day: str) -> datetime:
    return datetime.fromisoformat(f"{day}T09:00:00-05:00")


async def test_codes_and_visits_die_with_the_term_and_seats_thirty_days_later(
    world, seating, tmp_path
):
    slips = await seated(world, remembered_devices=True)
    await seating.seats.sit(slips[0].code, remember=True)
    keys = (tmp_path / KEYS).read_bytes()

    world.clock.set(on("2027-01-29"))
    await seating.keeper.round()
    assert len(await rows_of(world.database, "seat_codes")) == 3

    world.clock.set(on("2027-01-30"))
    await seating.keeper.round()
    assert await rows_of(world.database, "seat_codes") == []
    assert await rows_of(world.database, "seat_sessions") == []

    world.clock.set(on("2027-02-28"))
    await seating.keeper.round()
    assert len(await rows_of(world.database, "seats")) == 3
    world.clock.set(on("2027-03-01"))
    await seating.keeper.round()

    assert await rows_of(world.database, "seats") == []
    assert (tmp_path / KEYS).read_bytes() != keys
    written = [(entry.action, entry.amount) for entry in await seating.approvals.audit()]
    assert (Action.TERM_ENDED, 3) in written
    assert (Action.PURGED, 3) in written


async def test_a_sheet_for_the_next_term_lets_the_seats_go_on(world, seating):
    await seated(world)
    await sign(
        world, sheet_id="spring", approved_on="2027-01-20", valid_from="2027-01-20",
        expires_on="2027-06-30", term_ends_on="2027-06-18",
    )  # fmt: skip

    world.clock.set(on("2027-03-01"))
    await seating.keeper.round()

    assert len(await rows_of(world.database, "seat_codes")) == 3


async def test_taking_the_last_sheet_away_takes_the_seats_along(world, seating):
    await seated(world)

    await seating.approvals.take_away("sheet-1")
    await seating.keeper.round()

    assert await rows_of(world.database, "seats") == []


async def test_counts_of_the_class_go_after_a_year(world, seating):
    await seated(world, 1)
    await posted(world, MONDAY)
    (seat,) = await seating.seats.of_choir("choir-1")
    await seating.practice.tap(seat.id, MONDAY, Went.STEADY)
    world.clock.set(NINE + timedelta(days=1))
    await seating.keeper.round()
    assert len(await rows_of(world.database, "class_counts")) == 1

    world.clock.set(NINE + timedelta(days=366))
    await seating.keeper.round()

    assert await rows_of(world.database, "class_counts") == []


async def test_the_next_look_is_at_the_nearest_midnight_or_in_six_hours(world, seating):
    assert await seating.keeper.round() == NINE + timedelta(hours=6)
    await world.services.choirs.add(a_choir())
    world.clock.set(datetime.fromisoformat("2026-09-14T22:00:00-04:00"))

    assert await seating.keeper.round() == datetime.fromisoformat("2026-09-15T00:00:00-04:00")


async def test_a_copy_holds_all_that_is_kept_about_a_seat_and_is_written_down(world, seating):
    await seated(world, 2)
    await posted(world, MONDAY)
    (seat, _) = await seating.seats.of_choir("choir-1")
    await seating.practice.tap(seat.id, MONDAY, Went.BUMPY)

    copy = await seating.rights.copy_for_family("choir-1", 1)

    assert copy == {
        "seat": 1,
        "made_on": "2026-09-14",
        "account_linked": False,
        "days_read": ["2026-09-14"],
        "how_today_went": {"2026-09-14": "bumpy"},
        "weeks": [],
        "votes": [],
        "spans": [],
    }
    assert (await seating.approvals.audit())[-1].action == Action.SEAT_COPIED
    with pytest.raises(Refused, match=r"seat\.unknown"):
        await seating.rights.copy_for_family("choir-1", 3)


async def test_a_seat_that_is_forgotten_is_in_no_byte_of_the_folder(world, seating, tmp_path):
    slips = await seated(world, 2)
    await posted(world, MONDAY)
    sitting = await seating.seats.sit(slips[0].code)
    await seating.practice.tap(sitting.seat.id, MONDAY, Went.BUMPY)
    (tag,) = [
        tag for seat_id, tag in await rows_of(world.database, "seat_codes")
        if seat_id == sitting.seat.id
    ]  # fmt: skip
    assert sitting.seat.id.encode() in (tmp_path / DATABASE).read_bytes()

    await seating.rights.forget(sitting.seat.id, by_director=False)

    data = b"".join(file.read_bytes() for file in tmp_path.rglob("*") if file.is_file())
    assert sitting.seat.id.encode() not in data
    assert tag not in data
    assert await seating.seats.at(sitting.token) is None
    assert await seating.seats.seat(sitting.seat.id) is None
    with pytest.raises(Refused, match=r"seat\.unknown"):
        await seating.rights.forget(sitting.seat.id, by_director=False)


async def test_the_director_removes_a_seat_by_its_number(world, seating):
    await seated(world, 2)

    await seating.rights.remove_seat("choir-1", 2)

    assert [seat.number for seat in await seating.seats.of_choir("choir-1")] == [1]


async def test_an_export_has_weeks_of_ten_or_more_and_nothing_of_a_seat(world, seating):
    await seated(world, 12)
    await posted(world, MONDAY, MONDAY + timedelta(days=7))
    ids = [seat.id for seat in await seating.seats.of_choir("choir-1")]
    for seat_id in ids:
        await seating.practice.tap(seat_id, MONDAY, Went.STEADY)
    world.clock.set(NINE + timedelta(days=7))
    await seating.practice.tap(ids[0], MONDAY + timedelta(days=7), Went.STEADY)
    world.clock.set(NINE + timedelta(days=8))
    await seating.keeper.round()

    data = await seating.rights.export("choir-1")

    tree = json.loads(data)
    assert tree["weeks"]["2026-09-14"] == {"total": 12, "steady": 12, "bumpy": 0, "not_yet": 0}
    assert tree["weeks"]["2026-09-21"] == {
        "total": None, "steady": None, "bumpy": None, "not_yet": None,
    }  # fmt: skip
    assert tree["choir"]["name"] == ["Third Period"]
    assert [seat_id for seat_id in ids if seat_id.encode() in data] == []


async def test_a_portable_backup_has_sheets_and_counts_and_nothing_of_a_seat(
    world, seating, tmp_path
):
    slips = await seated(world, 2)
    await posted(world, MONDAY)
    sitting = await seating.seats.sit(slips[0].code)
    await seating.practice.tap(sitting.seat.id, MONDAY, Went.BUMPY)

    copy = portable_copy(tmp_path / DATABASE)

    assert b"Lindenfield" in copy
    assert sitting.seat.id.encode() not in copy
    for slip in slips:
        assert slip.code.encode() not in copy
