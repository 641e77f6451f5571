"""The desk's passphrase: long enough, kept as a hash, forgiving about how a keyboard writes it."""

import unicodedata

import pytest

from bot.errors import Refused
from bot.service.desk import Desk
from bot.store.desk import passphrase_hash
from bot.store.folder import open_database

PASSPHRASE = "four höhe stairs and a door"


@pytest.fixture
async def database(tmp_path):
    async with open_database(tmp_path, born="test") as opened:
        yield opened


async def test_a_new_desk_has_none_and_opens_to_none(database):
    desk = Desk(database)

    assert not await desk.has_passphrase()
    assert not await desk.check_passphrase("")
    assert not await desk.check_passphrase(PASSPHRASE)


async def test_the_passphrase_opens_and_nothing_else_does(database):
    desk = Desk(database)
    await desk.set_passphrase(PASSPHRASE)

    assert await desk.has_passphrase()
    assert await desk.check_passphrase(PASSPHRASE)
    assert not await desk.check_passphrase(PASSPHRASE + " ")
    assert not await desk.check_passphrase(PASSPHRASE.upper())


async def test_a_new_one_takes_the_place_of_the_old(database):
    desk = Desk(database)
    await desk.set_passphrase(PASSPHRASE)

    await desk.set_passphrase("another long passphrase")

    assert not await desk.check_passphrase(PASSPHRASE)
    assert await desk.check_passphrase("another long passphrase")


async def test_another_keyboard_writes_the_same_passphrase(database):
    desk = Desk(database)
    await desk.set_passphrase(unicodedata.normalize("NFC", PASSPHRASE))

    assert await desk.check_passphrase(unicodedata.normalize("NFD", PASSPHRASE))


async def test_fourteen_characters_are_too_few(database):
    with pytest.raises(Refused, match=r"desk_error\.short"):
        await Desk(database).set_passphrase("a" * 14)


async def test_a_text_without_end_is_refused(database):
    with pytest.raises(Refused, match=r"desk_error\.long"):
        await Desk(database).set_passphrase("a" * 1001)


async def test_only_a_salted_hash_is_kept(database):
    desk = Desk(database)
    kept = []
    for _ in range(2):
        await desk.set_passphrase(PASSPHRASE)
        async with database.snapshot() as read:
            kept.append(await passphrase_hash(read))

    assert kept[0] != kept[1]
    assert all(text.startswith("scrypt$32768$8$1$") and "door" not in text for text in kept)


async def test_the_stages_key_lasts_as_long_as_the_passphrase(database):
    desk = Desk(database)
    keys = [await desk.stage_key(), await Desk(database).stage_key()]
    for change in (desk.set_passphrase, desk.set_passphrase):
        await change(PASSPHRASE)
        keys.append(await desk.stage_key())
    await desk.forget_passphrase()
    keys.append(await desk.stage_key())

    assert keys[0] == keys[1]
    assert len(set(keys)) == 4
    assert {len(key) for key in keys} == {32}


async def test_a_forgotten_passphrase_is_set_aside(database):
    desk = Desk(database)
    await desk.set_passphrase(PASSPHRASE)

    await desk.forget_passphrase()

    assert not await desk.has_passphrase()
