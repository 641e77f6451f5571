"""Many small writes under one commit; what is remembered until something that matters changes."""

from __future__ import annotations

import asyncio

import pytest

from bot.errors import NotAllowedToKeep, Refused
from bot.privacy.approval import Activity, fields_needed
from bot.store.choirs import add_choir, zone_of
from bot.store.folder import open_database
from bot.store.remembered import Remembered
from bot.store.seats import Seat, add_seat
from bot.store.together import Together
from tests.fakes.choirs import MONDAY, NEW_YORK, a_choir
from tests.service.seated import rows_of

_FIELDS = fields_needed(frozenset({Activity.TAPS}))


@pytest.fixture
async def database(tmp_path):
    async with open_database(tmp_path, born="test") as opened:
        async with opened.transaction() as change:
            await add_choir(change, a_choir(), MONDAY)
        yield opened


def _seat(number):
    return Seat(id=f"seat-{number}", choir_id="choir-1", number=number, made_on=MONDAY)


def _adds(number, fields=_FIELDS):
    async def work(change):
        change.allow(fields)
        await add_seat(change, _seat(number))
        return number

    return work


async def test_what_waits_at_one_moment_is_kept_by_one_commit(database, monkeypatch):
    begun = []
    begin = database.transaction
    monkeypatch.setattr(database, "transaction", lambda: begun.append(1) or begin())
    together = Together(database)

    done = await asyncio.gather(*(together.do(_adds(number)) for number in range(1, 41)))

    assert done == list(range(1, 41))
    assert len(await rows_of(database, "seats")) == 40
    assert len(begun) <= 2


async def test_it_is_kept_when_it_is_said_to_be(database):
    together = Together(database)

    await together.do(_adds(1))

    assert len(await rows_of(database, "seats")) == 1


async def test_one_that_refuses_hinders_nobody(database):
    async def refuses(change):
        raise Refused("seat.closed")

    together = Together(database)
    outcomes = await asyncio.gather(
        together.do(_adds(1)), together.do(refuses), together.do(_adds(2)), return_exceptions=True
    )

    assert [type(one) for one in outcomes] == [int, Refused, int]
    assert len(await rows_of(database, "seats")) == 2


async def test_one_that_fails_is_taken_back_alone(database):
    async def fails(change):
        change.allow(_FIELDS)
        await add_seat(change, _seat(9))
        raise ZeroDivisionError

    together = Together(database)
    outcomes = await asyncio.gather(
        together.do(_adds(1)), together.do(fails), together.do(_adds(2)), return_exceptions=True
    )

    assert [type(one) for one in outcomes] == [int, ZeroDivisionError, int]
    assert [row[0] for row in await rows_of(database, "seats")] == ["seat-1", "seat-2"]


async def test_what_one_was_allowed_is_not_the_next_ones(database):
    together = Together(database)

    outcomes = await asyncio.gather(
        together.do(_adds(1)), together.do(_adds(2, frozenset())), return_exceptions=True
    )

    assert [type(one) for one in outcomes] == [int, NotAllowedToKeep]
    assert len(await rows_of(database, "seats")) == 1


async def test_one_who_does_not_wait_any_more_hinders_nobody(database):
    together = Together(database)
    gone = asyncio.create_task(together.do(_adds(1)))
    stays = asyncio.create_task(together.do(_adds(2)))
    await asyncio.sleep(0)
    gone.cancel()

    assert await stays == 2


async def _zone(database, remembered):
    async with database.snapshot() as read:
        return await remembered.get("choir-1", lambda: zone_of(read, "choir-1"))


async def test_what_is_remembered_is_read_again_after_a_change_of_settings_only(database):
    remembered = Remembered(database)
    assert await _zone(database, remembered) == NEW_YORK
    async with database.transaction(_FIELDS) as change:
        await add_seat(change, _seat(1))
    assert not remembered.knows("choir-1")  # seats are made on purpose, as settings are

    await _zone(database, remembered)
    async with database.transaction(_FIELDS) as change:
        await change.insert("read_days", {"seat_id": "seat-1", "read_on": "2026-09-14"})
    assert remembered.value("choir-1") == NEW_YORK and remembered.knows("choir-1")

    async with database.transaction() as change:
        await change.update("choirs", {"zone": "UTC"}, {"choir_id": "choir-1"})
    assert await _zone(database, remembered) == "UTC"


async def test_what_was_read_of_a_change_that_is_taken_back_is_forgotten(database):
    remembered = Remembered(database)
    with pytest.raises(ZeroDivisionError):
        async with database.transaction() as change:
            await change.update("choirs", {"zone": "UTC"}, {"choir_id": "choir-1"})
            assert await remembered.get("choir-1", lambda: zone_of(change, "choir-1")) == "UTC"
            raise ZeroDivisionError

    assert await _zone(database, remembered) == NEW_YORK
