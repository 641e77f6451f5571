"""Portable backups: sealed, without secrets, whole, and refused where anything is wrong."""

import json
import zlib

import pytest
from cryptography.hazmat.primitives.ciphers.aead import AESGCM

from bot.errors import InputProblems, Refused, SettingsProblem
from bot.store import backup
from bot.store.backup import make_backup, portable_copy, restore_backup
from bot.store.choirs import add_choir, all_choirs
from bot.store.desk import keep_passphrase_hash, passphrase_hash
from bot.store.folder import DATABASE, open_database
from bot.store.readings import add_reading, find_reading
from tests.fakes.choirs import MONDAY, a_choir, a_reading

PASSPHRASE = "seven quiet risers at dawn"
CHOIR = a_choir(name="PLANTED-NAME")


@pytest.fixture(autouse=True)
def cheap_scrypt(monkeypatch):
    monkeypatch.setattr(backup, "_COST", 2**10)


@pytest.fixture
async def folder(tmp_path):
    async with (
        open_database(tmp_path / "old", born="test") as database,
        database.transaction() as change,
    ):
        await add_choir(change, CHOIR, MONDAY)
        await add_reading(change, a_reading())
        await keep_passphrase_hash(change, "PLANTED-SECRET")
    return tmp_path / "old"


async def test_a_backup_fills_an_empty_folder_with_choirs_and_readings(folder, tmp_path):
    restore_backup(make_backup(folder, PASSPHRASE), PASSPHRASE, tmp_path / "new")

    async with (
        open_database(tmp_path / "new", born="test") as database,
        database.snapshot() as read,
    ):
        assert await all_choirs(read) == (CHOIR,)
        assert await find_reading(read, "reading-1") == a_reading()


async def test_no_secret_comes_along(folder, tmp_path):
    restore_backup(make_backup(folder, PASSPHRASE), PASSPHRASE, tmp_path / "new")

    async with (
        open_database(tmp_path / "new", born="test") as database,
        database.snapshot() as read,
    ):
        assert await passphrase_hash(read) is None
    assert b"PLANTED-SECRET" not in portable_copy(folder / DATABASE)


def test_nothing_can_be_read_without_the_passphrase(folder):
    sealed = make_backup(folder, PASSPHRASE)

    assert b"PLANTED" not in sealed
    assert b"SQLite" not in sealed


async def test_a_backup_can_be_made_while_the_program_runs(folder):
    async with open_database(folder, born="test") as database, database.snapshot():
        assert make_backup(folder, PASSPHRASE)


def test_two_backups_of_the_same_data_differ(folder):
    assert make_backup(folder, PASSPHRASE) != make_backup(folder, PASSPHRASE)


def test_another_passphrase_opens_nothing(folder, tmp_path):
    sealed = make_backup(folder, PASSPHRASE)

    with pytest.raises(InputProblems, match="passphrase is not the one"):
        restore_backup(sealed, "another passphrase", tmp_path / "new")

    assert not (tmp_path / "new" / DATABASE).exists()


@pytest.mark.parametrize("place", [0, 25, 60, 200, -1])
def test_a_changed_byte_is_noticed_wherever_it_is(folder, tmp_path, place):
    sealed = bytearray(make_backup(folder, PASSPHRASE))
    sealed[place] ^= 1

    with pytest.raises(InputProblems):
        restore_backup(bytes(sealed), PASSPHRASE, tmp_path / "new")

    assert not (tmp_path / "new" / DATABASE).exists()


@pytest.mark.parametrize("length", [0, 10, 19, 100, 300])
def test_a_backup_cut_short_is_noticed(folder, tmp_path, length):
    sealed = make_backup(folder, PASSPHRASE)[:length]

    with pytest.raises(InputProblems):
        restore_backup(sealed, PASSPHRASE, tmp_path / "new")


def test_a_head_that_asks_for_endless_work_is_refused(folder, tmp_path):
    sealed = make_backup(folder, PASSPHRASE)
    magic, head, rest = sealed.split(b"\n", 2)
    costly = json.dumps(json.loads(head) | {"n": 2**30}).encode()

    with pytest.raises(InputProblems, match="head of the backup is damaged"):
        restore_backup(b"\n".join((magic, costly, rest)), PASSPHRASE, tmp_path / "new")


def test_a_sealed_file_that_is_no_database_is_refused(folder, tmp_path):
    sealed = make_backup(folder, PASSPHRASE)
    magic, head, _ = sealed.split(b"\n", 2)
    header = backup._header(head)
    start = magic + b"\n" + head + b"\n"
    body = AESGCM(header.key(PASSPHRASE)).encrypt(
        header.nonce, zlib.compress(b"no database"), start
    )

    with pytest.raises(InputProblems, match="faulty"):
        restore_backup(start + body, PASSPHRASE, tmp_path / "new")

    assert not (tmp_path / "new" / DATABASE).exists()


def test_a_folder_that_holds_data_is_never_overwritten(folder):
    sealed = make_backup(folder, PASSPHRASE)
    before = (folder / DATABASE).read_bytes()

    with pytest.raises(SettingsProblem, match="holds data already"):
        restore_backup(sealed, PASSPHRASE, folder)

    assert (folder / DATABASE).read_bytes() == before


async def test_a_folder_in_use_is_left_alone(folder):
    sealed = make_backup(folder, PASSPHRASE)

    async with open_database(folder, born="test"):
        with pytest.raises(SettingsProblem, match="already running"):
            restore_backup(sealed, PASSPHRASE, folder)


def test_a_short_passphrase_is_refused(folder):
    with pytest.raises(Refused, match="short_passphrase"):
        make_backup(folder, "too short")


def test_there_is_nothing_to_back_up_in_an_empty_folder(tmp_path):
    with pytest.raises(SettingsProblem, match="nothing to back up"):
        make_backup(tmp_path, PASSPHRASE)
