"""Choirs, readings and deliveries come back from the store as they went in."""

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta

import pytest

from bot.activities.calendar import Meeting, Rotation, ShortDay
from bot.activities.choir import Hearing, Presentation, Steps
from bot.activities.reading import Origin
from bot.activities.reading_day import Arrived, Claimed, Composed, Phase, ReadingDay, apply
from bot.music.pitch import Key
from bot.music.solfa import Naming, Solfa
from bot.music.tonality import KeyPattern
from bot.store.choirs import (
    add_choir,
    all_choirs,
    change_choir,
    choir_added_on,
    find_choir,
    remove_choir,
)
from bot.store.deliveries import begin_day, begun, days_of, find_day, last_day, settle_day
from bot.store.folder import open_database
from bot.store.readings import (
    add_reading,
    current_reading,
    find_reading,
    history,
    next_draw,
    posted_readings,
    retire_reading,
    unposted_readings,
)
from tests.fakes.choirs import (
    BARITONE,
    CHANGING,
    MONDAY,
    TREBLE,
    a_choir,
    a_reading,
    an_exercise,
)

NOON = datetime(2026, 9, 14, 16, 0, tzinfo=UTC)
PLAIN = a_choir()
RICH = a_choir(
    "choir-2",
    name="Señoritas’ & “Tenors”",
    voices=(TREBLE, CHANGING, BARITONE),
    steps=Steps(pitch="p05", rhythm="r03"),
    meeting=Meeting(
        pattern=Rotation(length=6, meets_on=frozenset({1, 4}), anchor=date(2026, 9, 1)),
        days_off=frozenset({date(2026, 11, 26), date(2026, 11, 27)}),
        short_days=frozenset({ShortDay(on=date(2026, 11, 25), bell_at=time(9, 40))}),
    ),
    post_at=time(13, 45),
    presentation=Presentation(
        solfa=Solfa(naming=Naming.NUMBERS, fifth="sol", seventh="si", do_based_minor=True),
        key_pattern=KeyPattern.SCALE,
        a4_hz=442.5,
        tempo_bpm=72,
        mark_do=False,
        give_pitch=False,
    ),
    measures=8,
    key="Bb",
    bell_at=time(13, 50),
    hearing=Hearing.TRY,
)


@pytest.fixture
async def database(tmp_path):
    async with open_database(tmp_path, born="test") as opened:
        yield opened


@pytest.fixture
async def with_choir(database):
    async with database.transaction() as change:
        await add_choir(change, PLAIN, MONDAY)
    return database


def claimed(reading_id="reading-1", on=MONDAY, surface="room"):
    day = ReadingDay(choir_id="choir-1", on=on, slot="daily", surface=surface)
    return apply(apply(day, Composed(reading_id=reading_id)), Claimed(at=NOON))


@pytest.mark.parametrize("choir", [PLAIN, RICH], ids=["plain", "rich"])
async def test_a_choir_comes_back_as_it_went_in(database, choir):
    async with database.transaction() as change:
        await add_choir(change, choir, MONDAY)

    async with database.snapshot() as read:
        assert await find_choir(read, choir.id) == choir
        assert await choir_added_on(read, choir.id) == MONDAY


async def test_a_changed_choir_keeps_its_place_and_its_first_day(database):
    async with database.transaction() as change:
        await add_choir(change, PLAIN, MONDAY)
        await add_choir(change, RICH, MONDAY)

    async with database.transaction() as change:
        changed = replace(RICH, id=PLAIN.id)
        await change_choir(change, changed)

    async with database.snapshot() as read:
        assert await all_choirs(read) == (changed, RICH)


async def test_the_same_choir_is_not_added_twice(with_choir):
    async with with_choir.transaction() as change:
        assert not await add_choir(change, PLAIN, MONDAY)


async def test_a_reading_comes_back_as_it_went_in(with_choir):
    reading = a_reading(origin=Origin.OWN, title="Old air", seed=2**63 - 1)

    async with with_choir.transaction() as change:
        await add_reading(change, reading)

    async with with_choir.snapshot() as read:
        assert await find_reading(read, reading.id) == reading
        assert await current_reading(read, "choir-1", MONDAY) == reading


async def test_a_line_drawn_again_stays_as_history(with_choir):
    first = a_reading("first")
    second = a_reading("second", draw=1, exercise=an_exercise(2, 1, 0, 1, 2, 1))

    async with with_choir.transaction() as change:
        await add_reading(change, first)
        await add_reading(change, second)

    async with with_choir.snapshot() as read:
        assert await current_reading(read, "choir-1", MONDAY) == second
        assert await next_draw(read, "choir-1", MONDAY) == 2
        assert await history(read, "choir-1") == {
            first.exercise.fingerprint(): first.exercise,
            second.exercise.fingerprint(): second.exercise,
        }


async def test_the_same_music_in_another_key_is_one_in_the_history(with_choir):
    async with with_choir.transaction() as change:
        await add_reading(change, a_reading("first"))
        await add_reading(
            change, a_reading("second", draw=1, exercise=an_exercise(key="G"), on=MONDAY)
        )

    async with with_choir.snapshot() as read:
        assert len(await history(read, "choir-1")) == 1


async def test_a_retired_line_leaves_its_date_free(with_choir):
    async with with_choir.transaction() as change:
        await add_reading(change, a_reading())
        await retire_reading(change, "reading-1")

    async with with_choir.snapshot() as read:
        assert await current_reading(read, "choir-1", MONDAY) is None
        assert len(await history(read, "choir-1")) == 1


async def test_a_key_is_claimed_once(with_choir):
    async with with_choir.transaction() as change:
        await add_reading(change, a_reading())
        first = await begin_day(change, claimed())
        second = await begin_day(change, claimed())

    assert (first, second) == (True, False)


async def test_a_delivery_comes_back_as_it_was_settled(with_choir):
    sent = apply(claimed(), Arrived(message_id="m-1", at=NOON + timedelta(seconds=1)))
    async with with_choir.transaction() as change:
        await add_reading(change, a_reading())
        await begin_day(change, claimed())

    async with with_choir.transaction() as change:
        await settle_day(change, sent)

    async with with_choir.snapshot() as read:
        assert await find_day(read, "choir-1", MONDAY, "room") == sent
        assert await begun(read, "choir-1", MONDAY)
        assert await days_of(read, "choir-1", Phase.SENT) == (sent,)
        assert await days_of(read, "choir-1", Phase.CLAIMED) == ()


async def test_the_board_shows_what_was_claimed_or_sent_oldest_first(with_choir):
    tuesday = MONDAY + timedelta(days=1)
    later = a_reading("later", on=tuesday, exercise=an_exercise(2, 2, 1, 1, 0, 1))
    waiting = a_reading("waiting", on=tuesday + timedelta(days=1))
    async with with_choir.transaction() as change:
        for reading in (later, a_reading(), waiting):
            await add_reading(change, reading)
        await begin_day(change, claimed("later", tuesday))
        await begin_day(change, claimed())

    async with with_choir.snapshot() as read:
        up = await posted_readings(read, "choir-1", "room", 20)
        last = await posted_readings(read, "choir-1", "room", 1)
        unposted = await unposted_readings(read, "choir-1")

    assert [reading.id for reading in up] == ["reading-1", "later"]
    assert [reading.id for reading in last] == ["later"]
    assert [reading.id for reading in unposted] == ["waiting"]


async def test_a_new_surface_takes_over_from_the_others(with_choir):
    async with with_choir.transaction() as change:
        await add_reading(change, a_reading())
        await begin_day(change, claimed())

    async with with_choir.snapshot() as read:
        assert await last_day(read, "choir-1", "room") == MONDAY
        assert await last_day(read, "choir-1", "discord") == MONDAY
        assert await last_day(read, "choir-2", "room") is None


async def test_removing_a_choir_leaves_no_row_of_it(with_choir):
    async with with_choir.transaction() as change:
        await add_reading(change, a_reading())
        await begin_day(change, claimed())

    async with with_choir.transaction() as change:
        removed = await remove_choir(change, "choir-1")

    async with with_choir.snapshot() as read:
        counts = {
            table: (await read.rows(f"SELECT count(*) FROM {table}"))[0][0]  # noqa: S608
            for table in ("choirs", "choir_voices", "readings", "reading_parts", "deliveries")
        }
    assert removed
    assert set(counts.values()) == {0}


async def test_keys_with_flats_and_minor_keys_are_kept_by_name(with_choir):
    reading = a_reading()
    part = replace(reading.parts[0], apart_key=Key.parse("Eb minor"))
    reading = replace(reading, parts=(part,))

    async with with_choir.transaction() as change:
        await add_reading(change, reading)

    async with with_choir.snapshot() as read:
        assert await find_reading(read, reading.id) == reading
