"""One connection, one writer at a time, every transaction whole or not at all.

The settings are those that leave no erased bytes behind and lose nothing acknowledged: rollback
journal truncated (in WAL mode erased bytes stay in the -wal file), secure_delete, full sync.
"""

from __future__ import annotations

import asyncio
import sqlite3
from collections.abc import AsyncIterator, Callable, Iterable, Mapping
from contextlib import asynccontextmanager
from pathlib import Path

import aiosqlite

from bot.errors import SettingsProblem
from bot.privacy.fields import tables
from bot.privacy.gate import NOTHING_ALLOWED, check_write

Value = str | int | float | bytes | None

BUSY_MS = 5000
SETTINGS: Mapping[str, str | int] = {
    "journal_mode": "truncate",
    "secure_delete": 1,
    "synchronous": 2,  # FULL
    "busy_timeout": BUSY_MS,
    "foreign_keys": 1,
}


class Snapshot:
    """Reads that belong together: nothing changes between the first and the last of them."""

    def __init__(self, connection: aiosqlite.Connection) -> None:
        self._connection = connection

    async def rows(self, sql: str, *values: Value) -> list[sqlite3.Row]:
        """Every row of a question."""
        return list(await self._connection.execute_fetchall(sql, values))

    async def row(self, sql: str, *values: Value) -> sqlite3.Row | None:
        """The first row of a question, None where there is none."""
        found = await self.rows(sql, *values)
        return found[0] if found else None


class Transaction(Snapshot):
    """Writes that belong together. Each passes the gate; names of columns come from nowhere else.

    `allowed` names the seat data that a valid approval lets through; `wrote` is told every table
    that is written to.
    """

    def __init__(
        self,
        connection: aiosqlite.Connection,
        allowed: frozenset[str],
        wrote: Callable[[str], None],
    ) -> None:
        super().__init__(connection)
        self._allowed = allowed
        self._wrote = wrote

    def allow(self, fields: frozenset[str]) -> None:
        """From now on let this seat data through and no other, by an approval read in here."""
        self._allowed = fields

    async def insert(self, table: str, values: Mapping[str, Value]) -> None:
        """Add one row."""
        await self._connection.execute(self._insert(table, values), tuple(values.values()))

    async def insert_once(self, table: str, values: Mapping[str, Value]) -> bool:
        """Add one row unless its key is taken; whether it was added."""
        sql = self._insert(table, values) + " ON CONFLICT DO NOTHING"
        cursor = await self._connection.execute(sql, tuple(values.values()))
        return cursor.rowcount == 1

    async def update(
        self, table: str, values: Mapping[str, Value], where: Mapping[str, Value]
    ) -> int:
        """Change the rows whose columns equal `where`; how many there were."""
        check_write(table, (*values, *where), self._allowed)
        self._wrote(table)
        assignments = ", ".join(f'"{column}" = ?' for column in values)
        sql = f'UPDATE "{table}" SET {assignments} WHERE {_equal(where)}'  # noqa: S608 - names passed the gate
        cursor = await self._connection.execute(sql, (*values.values(), *where.values()))
        return cursor.rowcount

    async def delete(self, table: str, where: Mapping[str, Value]) -> int:
        """Delete the rows whose columns equal `where`; how many there were.

        Erasing needs no approval, so the columns of `where` count as allowed here.
        """
        check_write(table, where, frozenset(f"{table}.{column}" for column in where))
        self._wrote(table)
        sql = f'DELETE FROM "{table}" WHERE {_equal(where)}'  # noqa: S608 - names passed the gate
        cursor = await self._connection.execute(sql, tuple(where.values()))
        return cursor.rowcount

    def _insert(self, table: str, values: Mapping[str, Value]) -> str:
        check_write(table, values, self._allowed)
        self._wrote(table)
        columns = ", ".join(f'"{column}"' for column in values)
        marks = ", ".join("?" for _ in values)
        return f'INSERT INTO "{table}" ({columns}) VALUES ({marks})'  # noqa: S608 - names passed the gate


def _equal(where: Iterable[str]) -> str:
    return " AND ".join(f'"{column}" = ?' for column in where)


class Database:
    """The open database. Built by `open_database`; transactions wait for one another."""

    def __init__(self, connection: aiosqlite.Connection, born: str) -> None:
        self._connection = connection
        self._lock = asyncio.Lock()
        self._holder: asyncio.Task[object] | None = None
        self._generation = 0
        self._revision = 0
        self.born = born

    @property
    def generation(self) -> int:
        """Another number after each change of anything but what every day brings.

        Whoever remembers what was read (settings, links, approvals) remembers it for one number.
        """
        return self._generation

    @property
    def revision(self) -> int:
        """Another number after each change of anything that a whole class may see.

        What seats do for themselves changes nothing of it, and there are hundreds of taps a second.
        """
        return self._revision

    @asynccontextmanager
    async def transaction(
        self, allowed: frozenset[str] = NOTHING_ALLOWED
    ) -> AsyncIterator[Transaction]:
        """All of it is kept when the block ends, none of it when anything is raised out of it.

        Not even a cancelled task leaves a transaction open: begin, commit and rollback are each
        carried through.
        """
        async with self._alone():
            try:
                await self._carry_through("BEGIN IMMEDIATE")
                yield Transaction(self._connection, allowed, self._note)
                await self._carry_through("COMMIT")
            except BaseException:
                await self._roll_back()
                raise

    @asynccontextmanager
    async def snapshot(self) -> AsyncIterator[Snapshot]:
        """Reads only.

        Nothing else writes to the file, and no transaction of this program comes between; so reads
        need none of their own, which would have the database's thread wait twice more.
        """
        async with self._alone():
            yield Snapshot(self._connection)

    @asynccontextmanager
    async def _alone(self) -> AsyncIterator[None]:
        if self._holder is not None and self._holder is asyncio.current_task():
            raise RuntimeError("a transaction inside a transaction of the same task")
        async with self._lock:
            self._holder = asyncio.current_task()
            try:
                yield
            finally:
                self._holder = None

    async def _carry_through(self, sql: str) -> None:
        """Run one statement to its end even if this task is cancelled meanwhile."""
        step = asyncio.ensure_future(self._connection.execute(sql))
        cancelled: asyncio.CancelledError | None = None
        while not step.done():
            try:
                await asyncio.shield(step)
            except asyncio.CancelledError as error:
                cancelled = error
        step.result()
        if cancelled is not None:
            raise cancelled

    def _note(self, table: str) -> None:
        if table not in _BY_THE_DAY:
            self._generation += 1
        if table not in _OF_SEATS:
            self._revision += 1

    async def _roll_back(self) -> None:
        """Nothing happens where no transaction is open: BEGIN failed, or COMMIT went through."""
        self._generation += 1  # what was read of the writes that are taken back is not so
        self._revision += 1
        step = asyncio.ensure_future(self._connection.rollback())
        while not step.done():
            try:
                await asyncio.shield(step)
            except asyncio.CancelledError:
                continue
        step.result()


@asynccontextmanager
async def connect(path: Path, born: str) -> AsyncIterator[Database]:
    """Open a migrated database file and set it up; SettingsProblem where a setting does not hold.

    `born` is `real`, `demo` or `test`: what the data is, as its installation row says.
    """
    async with aiosqlite.connect(path, isolation_level=None) as connection:
        connection.row_factory = sqlite3.Row
        for pragma, value in SETTINGS.items():
            await connection.execute(f"PRAGMA {pragma} = {value}")
        for pragma, value in SETTINGS.items():
            (row,) = await connection.execute_fetchall(f"PRAGMA {pragma}")
            if row[0] != value:
                raise SettingsProblem(f"{path}: {pragma} is {row[0]}, not {value}")
        await connection.set_authorizer(_authorize)
        yield Database(connection, born)


def _authorize(action: int, first: str | None, *_: object) -> int:
    """SQLite's own gate behind ours: rows of registered tables change, nothing else does."""
    if action in _READS:
        return sqlite3.SQLITE_OK
    if action in _WRITES and first in _TABLES:
        return sqlite3.SQLITE_OK
    return sqlite3.SQLITE_DENY


_TABLES = frozenset(tables())
# What a day brings, never what somebody set.
_BY_THE_DAY = frozenset(
    {
        "audit", "class_counts", "deliveries", "read_days", "reading_parts", "readings",
        "seat_link_codes", "seat_links", "seat_sessions", "taps", "week_counts",
    }
)  # fmt: skip
_OF_SEATS = _BY_THE_DAY - {"deliveries", "reading_parts", "readings"}
_WRITES = frozenset({sqlite3.SQLITE_INSERT, sqlite3.SQLITE_UPDATE, sqlite3.SQLITE_DELETE})
_READS = frozenset(
    {
        sqlite3.SQLITE_SELECT,
        sqlite3.SQLITE_READ,
        sqlite3.SQLITE_FUNCTION,
        sqlite3.SQLITE_TRANSACTION,
        sqlite3.SQLITE_SAVEPOINT,
        sqlite3.SQLITE_PRAGMA,
        sqlite3.SQLITE_RECURSIVE,
    }
)
