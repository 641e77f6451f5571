r"""A portable backup: choirs and readings without secrets and seats, sealed by a passphrase.

    riserbell backup 1\n            format and version
    {"kdf": "scrypt", ...}\n        how the key was made; sealed along with the rest
    bytes                           AES-256-GCM over the compressed database file

The database is copied in one go by SQLite itself, so the copy is whole even while the program runs.
"""

from __future__ import annotations

import os
import sqlite3
import zlib
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Literal

import msgspec
from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.kdf.scrypt import Scrypt
from msgspec import Meta

from bot import __version__
from bot.errors import Fault, InputProblems, Refused, SettingsProblem
from bot.privacy.fields import portable
from bot.store.database import BUSY_MS
from bot.store.folder import DATABASE, empty, lock, open_private
from bot.store.migrate import migrate, schema_version, shipped_migrations

MIN_PASSPHRASE = 15  # characters
LIMIT_BYTES = 512 * 2**20  # of an opened backup: decades of choirs
_MAGIC = b"riserbell backup 1\n"
_COST = 2**16  # scrypt's n with r 8: 64 MiB and about a fifth of a second
_HEADER_LIMIT = 1000  # bytes


@dataclass(frozen=True, slots=True, kw_only=True)
class _Header:
    """How a backup was sealed; salt and nonce in base64. Costs are bounded: anyone may make one."""

    kdf: Literal["scrypt"]
    n: Annotated[int, Meta(gt=1, le=2**20)]
    r: Literal[8]
    p: Literal[1]
    salt: bytes
    nonce: bytes
    release: str

    def key(self, passphrase: str) -> bytes:
        kdf = Scrypt(salt=self.salt, length=32, n=self.n, r=self.r, p=self.p)
        return kdf.derive(passphrase.encode())

    def line(self) -> bytes:
        return msgspec.json.encode(self) + b"\n"


def make_backup(folder: Path, passphrase: str) -> bytes:
    """The sealed backup of a data folder; works beside a running program.

    Refused("backup.short_passphrase"); SettingsProblem where the folder holds no data.
    """
    if len(passphrase) < MIN_PASSPHRASE:
        raise Refused("backup.short_passphrase", count=MIN_PASSPHRASE)
    content = zlib.compress(portable_copy(folder / DATABASE), level=6)
    header = _Header(
        kdf="scrypt",
        n=_COST,
        r=8,
        p=1,
        salt=os.urandom(16),
        nonce=os.urandom(12),
        release=__version__,
    )
    head = _MAGIC + header.line()
    return head + AESGCM(header.key(passphrase)).encrypt(header.nonce, content, head)


def restore_backup(sealed: bytes, passphrase: str, folder: Path) -> None:
    """Fill an empty data folder from a backup.

    InputProblems where the file is no backup, was changed, or the passphrase is another one;
    SettingsProblem where the folder holds data or is in use. Either way the folder stays empty.
    """
    content = _open(sealed, passphrase)
    with lock(folder):
        if not empty(folder):
            raise SettingsProblem(
                f"{folder} holds data already: restore into an empty folder with --data"
            )
        path = folder / f"{DATABASE}.restoring"
        try:
            with open_private(path) as file:
                os.truncate(file, 0)
                path.write_bytes(content)
                os.fsync(file)
            _check(path)
            path.replace(folder / DATABASE)
        finally:
            path.unlink(missing_ok=True)


def portable_copy(path: Path) -> bytes:
    """The database file without its secret tables and without anything about seats."""
    if not path.is_file():
        raise SettingsProblem(f"{path} is missing: there is nothing to back up")
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as copy:
        try:
            with closing(sqlite3.connect(path, timeout=BUSY_MS / 1000)) as source:
                source.backup(copy)
        except sqlite3.DatabaseError as error:
            raise SettingsProblem(f"{path} cannot be read: {error}") from error
        tables = copy.execute("SELECT name FROM sqlite_schema WHERE type = 'table'").fetchall()
        copy.execute("PRAGMA secure_delete = ON")
        for (table,) in tables:
            if not portable(table):
                copy.execute(f'DELETE FROM "{table}"')  # noqa: S608 - a name from the schema
        copy.execute("VACUUM")
        return copy.serialize()


def _open(sealed: bytes, passphrase: str) -> bytes:
    if not sealed.startswith(_MAGIC):
        raise _unreadable("this is no backup made by Riserbell", "choose another file")
    line, newline, body = sealed[len(_MAGIC) :].partition(b"\n")
    header = _header(line) if newline and len(line) <= _HEADER_LIMIT else None
    if header is None:
        raise _unreadable("the head of the backup is damaged", "use another copy")
    head = _MAGIC + line + b"\n"
    try:
        content = AESGCM(header.key(passphrase)).decrypt(header.nonce, body, head)
    except (InvalidTag, ValueError) as error:
        raise _unreadable(
            "the passphrase is not the one it was sealed with, or the file was changed",
            "type the passphrase again, or use another copy",
        ) from error
    opener = zlib.decompressobj()
    database = opener.decompress(content, LIMIT_BYTES)
    if not opener.eof:
        raise _unreadable("the backup is larger than any choir's data", "use another copy")
    return database


def _header(line: bytes) -> _Header | None:
    try:
        return msgspec.json.decode(line, type=_Header)
    except msgspec.MsgspecError:
        return None


def _check(path: Path) -> None:
    """Bring an older backup up to date and refuse what SQLite finds faulty."""
    try:
        migrate(path, shipped_migrations())
        with closing(sqlite3.connect(path)) as connection:
            (verdict,) = connection.execute("PRAGMA integrity_check").fetchone()
            loose = connection.execute("PRAGMA foreign_key_check").fetchone()
            sound = verdict == "ok" and loose is None and schema_version(connection) > 0
    except sqlite3.DatabaseError as error:
        raise _unreadable(f"the database in the backup is faulty: {error}", "") from error
    if not sound:
        raise _unreadable("the database in the backup is faulty", "use another copy")


def _unreadable(problem: str, remedy: str) -> InputProblems:
    return InputProblems([Fault(place="backup", problem=problem, remedy=remedy)])
