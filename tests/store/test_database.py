"""The open database: its settings, its gate, and transactions that are whole or not at all."""

import asyncio
import contextlib
import sqlite3
import stat

import pytest

from bot.errors import NotAllowedToKeep, SettingsProblem
from bot.store.database import SETTINGS, Database
from bot.store.desk import keep_passphrase_hash, passphrase_hash
from bot.store.folder import DATABASE, open_database
from tests.fakes.interruption import count_suspensions, interrupt


@pytest.fixture
async def database(tmp_path):
    async with open_database(tmp_path / "data", born="test") as opened:
        yield opened


async def kept(database: Database) -> str | None:
    async with database.snapshot() as read:
        return await passphrase_hash(read)


async def keep(database: Database, text: str) -> None:
    async with database.transaction() as change:
        await keep_passphrase_hash(change, text)


async def test_the_connection_runs_with_every_setting(database):
    async with database.snapshot() as read:
        found = {pragma: (await read.rows(f"PRAGMA {pragma}"))[0][0] for pragma in SETTINGS}

    assert found == {
        "journal_mode": "truncate",
        "secure_delete": 1,
        "synchronous": 2,
        "busy_timeout": 5000,
        "foreign_keys": 1,
    }


async def test_what_a_transaction_wrote_is_there_afterwards(database):
    await keep(database, "a")

    assert await kept(database) == "a"


async def test_an_error_takes_everything_back(database):
    await keep(database, "before")

    with pytest.raises(ZeroDivisionError):
        async with database.transaction() as change:
            await keep_passphrase_hash(change, "after")
            raise ZeroDivisionError

    assert await kept(database) == "before"


@pytest.mark.parametrize("at", range(1, 9))
async def test_a_task_cancelled_at_any_await_leaves_all_or_nothing(database, at):
    await keep(database, "before")

    with contextlib.suppress(asyncio.CancelledError):
        await interrupt(keep(database, "after"), at, asyncio.CancelledError())

    assert await kept(database) in ("before", "after")
    await keep(database, "later")  # the connection is not stuck in a transaction
    assert await kept(database) == "later"


async def test_the_cancellations_above_reach_every_await(database):
    assert await count_suspensions(keep(database, "before")) <= 8


async def test_a_task_cancelled_inside_the_block_leaves_nothing(database):
    entered = asyncio.Event()

    async def dawdle() -> None:
        async with database.transaction() as change:
            await keep_passphrase_hash(change, "after")
            entered.set()
            await asyncio.sleep(60)

    task = asyncio.create_task(dawdle())
    await entered.wait()
    task.cancel()
    await asyncio.gather(task, return_exceptions=True)

    assert await kept(database) is None


async def test_a_commit_that_began_is_carried_through_a_cancellation(database):
    async def write() -> None:
        async with database.transaction() as change:
            await keep_passphrase_hash(change, "after")
            asyncio.get_running_loop().call_soon(task.cancel)  # arrives while COMMIT runs

    task = asyncio.create_task(write())
    with pytest.raises(asyncio.CancelledError):
        await task

    assert await kept(database) == "after"


async def test_one_task_never_sees_anothers_unfinished_writes(database):
    inside, go_on = asyncio.Event(), asyncio.Event()

    async def slow() -> None:
        async with database.transaction() as change:
            await keep_passphrase_hash(change, "unfinished")
            inside.set()
            await go_on.wait()
            raise ZeroDivisionError

    task = asyncio.create_task(slow())
    await inside.wait()
    reader = asyncio.create_task(kept(database))
    await asyncio.sleep(0.01)
    go_on.set()
    await asyncio.gather(task, return_exceptions=True)

    assert await reader is None


async def test_a_transaction_inside_a_transaction_is_a_mistake_said_at_once(database):
    with pytest.raises(RuntimeError, match="inside a transaction"):
        async with database.transaction(), database.snapshot():
            pass


async def test_a_column_outside_the_register_cannot_be_written(database):
    async with database.transaction() as change:
        with pytest.raises(NotAllowedToKeep, match=r"choirs\.director_name is not in the register"):
            await change.insert("choirs", {"director_name": "x"})


async def test_no_update_slips_past_the_register(database):
    async with database.transaction() as change:
        with pytest.raises(NotAllowedToKeep, match=r"desk\.hint"):
            await change.update("desk", {"hint": "x"}, {"only": 1})


async def test_sqlite_itself_denies_what_goes_round_the_gate(database):
    with pytest.raises(sqlite3.DatabaseError, match="not authorized"):
        async with database.snapshot() as read:
            await read.rows("CREATE TABLE singers (name TEXT)")


async def test_a_second_process_is_refused(database, tmp_path):
    with pytest.raises(SettingsProblem, match="already running on"):
        async with open_database(tmp_path / "data", born="test"):
            pass


async def test_the_folder_is_free_again_after_closing(tmp_path):
    async with open_database(tmp_path, born="test"):
        pass

    async with open_database(tmp_path, born="test") as database:
        assert database.born == "test"


async def test_demonstration_data_never_opens_as_a_schools(tmp_path):
    async with open_database(tmp_path, born="demo"):
        pass

    with pytest.raises(SettingsProblem, match="holds demo data"):
        async with open_database(tmp_path, born="real"):
            pass


async def test_files_are_closed_to_other_accounts(database, tmp_path):
    folder = tmp_path / "data"

    modes = {path.name: stat.S_IMODE(path.stat().st_mode) for path in folder.iterdir()}

    assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    assert set(modes.values()) == {0o600}
    assert DATABASE in modes


async def test_a_damaged_file_is_named_not_overwritten(tmp_path):
    (tmp_path / DATABASE).write_bytes(b"no database at all, " * 100)

    with pytest.raises(SettingsProblem, match="cannot be read"):
        async with open_database(tmp_path, born="test"):
            pass

    assert (tmp_path / DATABASE).read_bytes().startswith(b"no database")


async def test_erased_bytes_are_gone_from_every_file(database, tmp_path):
    await keep(database, "PLANTED-CANARY-PLANTED")

    await keep(database, "another")

    found = [
        path.name
        for path in (tmp_path / "data").iterdir()
        if b"PLANTED-CANARY" in path.read_bytes()
    ]
    assert found == []


@pytest.mark.parametrize(
    ("table", "seen"),
    [("taps", 0), ("seat_sessions", 0), ("readings", 1), ("deliveries", 1), ("choirs", 1)],
)
async def test_a_revision_is_another_after_what_a_class_may_see(tmp_path, table, seen):
    column = {"seat_sessions": "seat_id", "taps": "seat_id"}.get(table, "choir_id")
    async with open_database(tmp_path, born="test") as database:
        before = database.revision
        async with database.transaction() as change:
            await change.delete(table, {column: "nobody"})
        assert database.revision == before + seen
