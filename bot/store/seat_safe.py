r"""The safe: a sealed copy of seats beside the database, for the day on which the file breaks.

    riserbell seats 1\n      format and version
    bytes                    AES-256-GCM over the compressed rows, after its nonce

Its key lies in a file of its own, in no backup. Erasing anything replaces that key, so whatever was
copied off the disk before opens nothing any more. What is answered for a day or a week, and visits,
are not in it.
"""

from __future__ import annotations

import os
import zlib
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

import msgspec
from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import AESGCM

from bot.store.database import Snapshot, Transaction
from bot.store.folder import open_private

SAFE = "riserbell.seats"
SAFE_KEY = "riserbell.seats-key"
# In the order in which they can be put back.
TABLES = ("seats", "seat_codes", "read_days", "week_counts")
_MAGIC = b"riserbell seats 1\n"
_KEY_BYTES, _NONCE_BYTES = 32, 12

_Row = Mapping[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class SafeCopy:
    """Rows of the seats of some choirs by table, as they were on a local date of each choir."""

    taken_on: Mapping[str, date]
    tables: Mapping[str, tuple[_Row, ...]]

    def seats_of(self, choir_id: str) -> tuple[_Row, ...]:
        """The seats of one choir."""
        return tuple(row for row in self.tables["seats"] if row["choir_id"] == choir_id)


async def copy_seats(read: Snapshot, taken_on: Mapping[str, date]) -> SafeCopy:
    """Copy what is kept about the seats of the choirs that `taken_on` names."""
    tables: dict[str, tuple[_Row, ...]] = dict.fromkeys(TABLES, ())
    for table in TABLES:
        sql = (
            f'SELECT * FROM "{table}" WHERE seat_id IN '  # noqa: S608 - a name of ours
            "(SELECT seat_id FROM seats WHERE choir_id = ?)"
        )
        for choir_id in taken_on:
            tables[table] += tuple(dict(row) for row in await read.rows(sql, choir_id))
    return SafeCopy(taken_on=taken_on, tables=tables)


async def put_back(
    change: Transaction, copy: SafeCopy, choir_id: str, allowed: Collection[str]
) -> int:
    """Write a choir's seats again, as far as every field of a table is allowed; how many seats."""
    seats = {row["seat_id"] for row in copy.seats_of(choir_id)}
    for table in TABLES:
        for row in copy.tables[table]:
            if row["seat_id"] in seats and all(f"{table}.{name}" in allowed for name in row):
                await change.insert(table, row)
    return len(seats)


def seal(folder: Path, copy: SafeCopy) -> None:
    """Lay a copy into the safe in place of the one before."""
    nonce = os.urandom(_NONCE_BYTES)
    plain = zlib.compress(msgspec.msgpack.encode(copy))
    sealed = _MAGIC + nonce + AESGCM(_key(folder)).encrypt(nonce, plain, _MAGIC)
    fresh = folder / f"{SAFE}.new"
    with open_private(fresh) as file:
        os.truncate(file, 0)
        fresh.write_bytes(sealed)
        os.fsync(file)
    fresh.replace(folder / SAFE)


def unseal(folder: Path) -> SafeCopy | None:
    """What lies in the safe; None where nothing does, or nothing that its key opens."""
    try:
        sealed, key = (folder / SAFE).read_bytes(), (folder / SAFE_KEY).read_bytes()
    except FileNotFoundError:
        return None
    body = sealed.removeprefix(_MAGIC)
    try:
        plain = AESGCM(key).decrypt(body[:_NONCE_BYTES], body[_NONCE_BYTES:], _MAGIC)
    except (InvalidTag, ValueError):
        return None
    return msgspec.msgpack.decode(zlib.decompress(plain), type=SafeCopy)


def shred(folder: Path) -> None:
    """Make every copy that was ever taken unreadable: its key is overwritten where it lies."""
    if (folder / SAFE_KEY).exists():
        with open_private(folder / SAFE_KEY) as file:
            os.pwrite(file, os.urandom(_KEY_BYTES), 0)
            os.ftruncate(file, _KEY_BYTES)
            os.fsync(file)
    for name in (SAFE, f"{SAFE}.new"):
        (folder / name).unlink(missing_ok=True)


def _key(folder: Path) -> bytes:
    path = folder / SAFE_KEY
    key = path.read_bytes() if path.exists() else b""
    if len(key) == _KEY_BYTES:
        return key
    with open_private(path) as file:
        key = os.urandom(_KEY_BYTES)
        os.pwrite(file, key, 0)
        os.ftruncate(file, _KEY_BYTES)
        os.fsync(file)
    return key
