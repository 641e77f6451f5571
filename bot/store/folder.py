"""The data folder: private to its owner, one process at a time, the database opened in it."""

from __future__ import annotations

import asyncio
import os
import sqlite3
import sys
from collections.abc import AsyncIterator, Iterator
from contextlib import asynccontextmanager, closing, contextmanager
from pathlib import Path

from bot import __version__
from bot.errors import SettingsProblem
from bot.store.database import Database, connect
from bot.store.migrate import migrate, shipped_migrations

DATABASE = "riserbell.sqlite3"
_LOCK = "riserbell.lock"
_SIDE_FILES = ("-journal", "-wal", "-shm")


@asynccontextmanager
async def open_database(folder: Path, *, born: str = "real") -> AsyncIterator[Database]:
    """Lock the folder, migrate the database in it and open it; `born` marks a new one.

    Raises SettingsProblem where another process has it, the file is newer or damaged, or the data
    in it was born otherwise (a demonstration never runs on a school's data, nor the reverse).
    """
    with lock(folder):
        path = folder / DATABASE
        await asyncio.to_thread(_prepare, path, born)
        async with connect(path, born) as database:
            yield database


@contextmanager
def lock(folder: Path) -> Iterator[None]:
    """Hold the folder for this process; SettingsProblem where another one holds it."""
    make_private(folder)
    with open_private(folder / _LOCK) as file:
        try:
            _lock_file(file)
        except OSError as error:
            raise SettingsProblem(
                f"Riserbell is already running on {folder}: stop it first, or choose another "
                "folder with --data"
            ) from error
        yield


def make_private(folder: Path) -> None:
    """Make the folder where it is missing, and close it to other accounts."""
    folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    folder.chmod(0o700)


@contextmanager
def open_private(path: Path) -> Iterator[int]:
    """A file descriptor of a file that only its owner may read; made where it is missing."""
    descriptor = os.open(path, os.O_RDWR | os.O_CREAT, 0o600)
    try:
        path.chmod(0o600)
        yield descriptor
    finally:
        os.close(descriptor)


def _lock_file(descriptor: int) -> None:
    """Lock until the descriptor is closed or the process ends, however it ends; OSError if held."""
    if sys.platform == "win32":
        import msvcrt

        msvcrt.locking(descriptor, msvcrt.LK_NBLCK, 1)
    else:
        import fcntl

        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)


def _prepare(path: Path, born: str) -> None:
    with open_private(path):
        pass  # SQLite gives its journal the mode of the database file
    try:
        migrate(path, shipped_migrations())
        with closing(sqlite3.connect(path)) as connection, connection:
            connection.execute(
                "INSERT INTO installation (only, born, since_version) VALUES (1, ?, ?) "
                "ON CONFLICT DO NOTHING",
                (born, __version__),
            )
            (found,) = connection.execute("SELECT born FROM installation").fetchone()
    except sqlite3.DatabaseError as error:
        raise SettingsProblem(f"{path} cannot be read: {error}; restore a backup") from error
    if found != born:
        raise SettingsProblem(
            f"{path.parent} holds {found} data, which cannot be opened as {born} data: "
            "choose another folder with --data"
        )


def empty(folder: Path) -> bool:
    """Whether the folder holds no database yet, nor remains of one."""
    names = (DATABASE, *(DATABASE + end for end in _SIDE_FILES))
    return not any((folder / name).exists() for name in names)


def size_bytes(folder: Path) -> int:
    """Bytes of all files in the data folder; files that vanish meanwhile count nothing."""
    total = 0
    for root, _, names in os.walk(folder):
        for name in names:
            try:
                total += (Path(root) / name).lstat().st_size
            except FileNotFoundError:
                continue
    return total
