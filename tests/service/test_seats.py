"""Seats: codes that open once the school has signed, one device a seat, visits that end."""

from datetime import datetime, timedelta

import pytest

from bot.errors import NotAllowedToKeep, Refused
from bot.privacy.tags import ALPHABET, code_tag, link_tag, new_code, new_keys, parse_code
from bot.service.approvals import Action
from bot.store.folder import DATABASE
from bot.store.keys import KEYS, replace_tag_keys, tag_keys
from tests.fakes.choirs import MONDAY, a_choir
from tests.fakes.clock import FakeClock
from tests.fakes.world import NINE, open_world
from tests.service.seated import rows_of, seated, sign


@pytest.fixture
async def world(tmp_path):
    async with open_world(tmp_path, FakeClock(NINE)) as opened:
        yield opened


@pytest.fixture
def seats(world):
    return world.services.seating.seats


def test_a_code_has_forty_bits_and_no_letter_that_is_mistaken():
    codes = {new_code() for _ in range(500)}

    assert len(ALPHABET) ** 8 == 2**40
    assert len(codes) == 500
    assert {len(code) for code in codes} == {8}
    assert set("".join(codes)) == set(ALPHABET)
    assert not set(ALPHABET) & set("ILOU")


@pytest.mark.parametrize("text", ["", "abcd", "abcd-efgu", "abcdefgh1", "äbcdefgh", "x" * 5000])
def test_what_is_no_code_is_told_apart_at_once(text):
    assert parse_code(text) is None


def test_tags_are_worthless_under_other_keys():
    ours, theirs = new_keys(), new_keys()

    assert code_tag(ours, "ABCD1234") != code_tag(theirs, "ABCD1234")
    assert code_tag(ours, "ABCD1234") == code_tag(ours, "ABCD1234")
    assert link_tag(ours, "v1/discord/1/2") != link_tag(theirs, "v1/discord/1/2")
    assert len(link_tag(ours, "v1/discord/1/2")) == 16
    assert "code" not in repr(ours)


def test_keys_lie_beside_the_database_for_their_owner_alone(tmp_path):
    first = tag_keys(tmp_path)

    assert (tmp_path / KEYS).stat().st_mode & 0o777 == 0o600
    assert tag_keys(tmp_path) == first
    assert replace_tag_keys(tmp_path) != first
    assert first.code not in (tmp_path / KEYS).read_bytes()


async def test_without_an_approval_there_are_no_seats(world, seats):
    await world.services.choirs.add(a_choir())

    with pytest.raises(Refused, match=r"seat\.closed"):
        await seats.make("choir-1", 3)

    assert await rows_of(world.database, "seats") == []


async def test_the_gate_itself_refuses_a_seat_without_an_approval(world):
    await world.services.choirs.add(a_choir())

    with pytest.raises(NotAllowedToKeep):
        async with world.database.transaction() as change:
            await change.insert("seats", {"seat_id": "s", "choir_id": "choir-1", "seat_no": 1})


async def test_seats_are_numbered_and_each_has_a_code_of_its_own(world, seats):
    slips = await seated(world, 5)

    assert [slip.number for slip in slips] == [1, 2, 3, 4, 5]
    assert len({slip.code for slip in slips}) == 5
    ids = [seat.id for seat in await seats.of_choir("choir-1")]
    assert len({*ids}) == 5
    assert all(len(seat_id) == 32 for seat_id in ids)


async def test_asking_for_as_many_seats_again_makes_none_and_shows_no_code_again(world, seats):
    await seated(world, 3)

    assert await seats.make("choir-1", 3) == ()
    assert [slip.number for slip in await seats.make("choir-1", 5)] == [4, 5]


@pytest.mark.parametrize("count", [0, -1, 61])
async def test_no_more_seats_than_the_school_has_signed_for(world, seats, count):
    await seated(world, 1)

    with pytest.raises(Refused, match=r"seat\.too_many"):
        await seats.make("choir-1", count)


async def test_a_code_opens_its_seat_however_it_is_typed(world, seats):
    slips = await seated(world)

    sitting = await seats.sit(f"  {slips[1].code.lower().replace('-', ' ')} ")

    assert sitting.seat.number == 2
    assert await seats.at(sitting.token) == sitting.seat


async def test_a_wrong_code_opens_nothing(world, seats):
    slips = await seated(world)
    wrong = slips[0].code[:-1] + ("1" if slips[0].code[-1] == "0" else "0")

    with pytest.raises(Refused, match=r"seat\.code_wrong"):
        await seats.sit(wrong)
    assert await seats.at("no token") is None


async def test_neither_code_nor_token_is_kept(world, seats, tmp_path):
    slips = await seated(world)
    sitting = await seats.sit(slips[0].code)

    data = b"".join(file.read_bytes() for file in tmp_path.iterdir() if file.is_file())

    assert sitting.seat.id.encode() in data
    for slip in slips:
        assert slip.code.encode() not in data
        assert slip.code.replace("-", "").encode() not in data
    assert sitting.token.encode() not in data


async def test_a_second_device_takes_the_seat_over_and_the_director_sees_how_often(world, seats):
    slips = await seated(world)
    first = await seats.sit(slips[0].code)

    second = await seats.sit(slips[0].code)

    assert await seats.at(first.token) is None
    assert await seats.at(second.token) is not None
    assert seats.taken_over("choir-1", MONDAY) == 1
    actions = [entry.action for entry in await world.services.seating.approvals.audit()]
    assert actions.count(Action.SEAT_TAKEN_OVER) == 1


async def test_a_lost_slip_is_replaced_and_the_old_one_opens_nothing(world, seats):
    slips = await seated(world)
    sitting = await seats.sit(slips[0].code)

    fresh = await seats.new_slip("choir-1", 1)

    assert await seats.at(sitting.token) is None
    with pytest.raises(Refused, match=r"seat\.code_wrong"):
        await seats.sit(slips[0].code)
    assert (await seats.sit(fresh.code)).seat == sitting.seat


async def test_every_slip_can_be_made_anew_at_once(world, seats):
    old = await seated(world)

    fresh = await seats.new_slips("choir-1")

    assert [slip.number for slip in fresh] == [1, 2, 3]
    assert not {slip.code for slip in fresh} & {slip.code for slip in old}


async def test_a_slip_for_a_seat_that_is_not_there_is_refused(world, seats):
    await seated(world)

    with pytest.raises(Refused, match=r"seat\.unknown"):
        await seats.new_slip("choir-1", 9)


async def test_twenty_idle_minutes_end_a_visit(world, seats):
    slips = await seated(world)
    token = (await seats.sit(slips[0].code)).token

    for _ in range(3):
        world.clock.set(world.clock.now() + timedelta(minutes=19))
        assert await seats.at(token) is not None
    world.clock.set(world.clock.now() + timedelta(minutes=20))

    assert await seats.at(token) is None
    assert await rows_of(world.database, "seat_sessions") == []


async def test_ninety_minutes_end_a_visit_that_is_never_idle(world, seats):
    slips = await seated(world)
    token = (await seats.sit(slips[0].code)).token

    minutes = []
    for minute in range(10, 110, 10):
        world.clock.set(NINE + timedelta(minutes=minute))
        if await seats.at(token) is not None:
            minutes.append(minute)

    assert minutes == [10, 20, 30, 40, 50, 60, 70, 80]


async def test_a_visit_ends_with_its_day(world, seats):
    slips = await seated(world)
    world.clock.set(datetime.fromisoformat("2026-09-14T23:55:00-04:00"))
    token = (await seats.sit(slips[0].code)).token

    world.clock.set(datetime.fromisoformat("2026-09-15T00:00:00-04:00"))

    assert await seats.at(token) is None


async def test_leaving_ends_a_visit(world, seats):
    slips = await seated(world)
    token = (await seats.sit(slips[0].code)).token

    await seats.leave(token)
    await seats.leave("nobody's")

    assert await seats.at(token) is None


async def test_a_restart_sends_nobody_home_who_sat_down_today(tmp_path):
    clock = FakeClock(NINE)
    async with open_world(tmp_path, clock) as world:
        slips = await seated(world)
        token = (await world.services.seating.seats.sit(slips[0].code)).token

    async with open_world(tmp_path, clock) as world:
        seats = world.services.seating.seats
        assert (await seats.at(token)).number == 1
        clock.set(NINE + timedelta(minutes=20))
        assert await seats.at(token) is None


@pytest.mark.parametrize("allowed", [True, False])
async def test_a_device_is_remembered_only_where_the_sheet_allows(tmp_path, allowed):
    clock = FakeClock(NINE)
    async with open_world(tmp_path, clock) as world:
        slips = await seated(world, remembered_devices=allowed)
        seats = world.services.seating.seats
        sitting = await seats.sit(slips[0].code, remember=True)

        clock.set(NINE + timedelta(days=40))

        assert (await seats.at(sitting.token) is not None) is allowed
        assert (sitting.until is not None) is allowed


async def test_a_remembered_device_goes_with_the_term(world, seats):
    slips = await seated(world, remembered_devices=True)
    token = (await seats.sit(slips[0].code, remember=True)).token

    world.clock.set(datetime.fromisoformat("2027-01-29T20:00:00-05:00"))
    assert await seats.at(token) is not None
    world.clock.set(datetime.fromisoformat("2027-01-30T08:00:00-05:00"))

    assert await seats.at(token) is None
    with pytest.raises(Refused, match=r"seat\.closed"):
        await seats.sit(slips[0].code)


async def test_an_approval_that_ends_ends_every_visit_the_same_minute(world, seats):
    slips = await seated(world, expires_on="2026-09-14", term_ends_on="2026-09-14")
    world.clock.set(datetime.fromisoformat("2026-09-14T23:59:00-04:00"))
    token = (await seats.sit(slips[0].code)).token
    assert await seats.at(token) is not None

    world.clock.set(datetime.fromisoformat("2026-09-15T00:00:00-04:00"))

    assert await seats.at(token) is None
    with pytest.raises(Refused, match=r"seat\.closed"):
        await seats.sit(slips[1].code)


async def test_a_sheet_that_does_not_list_a_field_opens_no_seat(world, seats):
    await seated(world)
    await sign(world, sheet_id="none", surfaces={"room": False, "discord": False},
               approved_on="2026-08-31")  # fmt: skip

    with pytest.raises(Refused, match=r"seat\.closed"):
        await seats.make("choir-1", 5)


async def test_a_choir_that_is_removed_takes_its_seats_along(world, seats, tmp_path):
    await seated(world)
    ids = [seat.id for seat in await seats.of_choir("choir-1")]

    await world.services.seating.rights.remove_choir("choir-1")

    assert await rows_of(world.database, "seats") == []
    data = (tmp_path / DATABASE).read_bytes()
    assert [seat_id for seat_id in ids if seat_id.encode() in data] == []
