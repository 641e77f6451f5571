"""Numbered changes of the schema, each in one transaction with its version.

A change that fails leaves the file as it was. The file is copied before the first change; the copy
goes once the changed file has passed SQLite's own checks, because it may hold what was erased.
"""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from bot.errors import SettingsProblem

_NAME = re.compile(r"(\d{4})_[a-z_]+\.sql")


@dataclass(frozen=True, slots=True, kw_only=True)
class Migration:
    """One step of the schema, `version` counted from 1."""

    version: int
    name: str
    sql: str


def shipped_migrations() -> tuple[Migration, ...]:
    """The steps that come with the program, in order and without gaps."""
    folder = Path(__file__).parent / "migrations"
    found: list[Migration] = []
    for file in sorted(folder.glob("*.sql")):
        match = _NAME.fullmatch(file.name)
        if match is None or int(match[1]) != len(found) + 1:
            raise SettingsProblem(f"{file}: a migration is named NNNN_words.sql, without gaps")
        sql = file.read_text(encoding="utf-8")
        found.append(Migration(version=int(match[1]), name=file.stem, sql=sql))
    return tuple(found)


def migrate(path: Path, migrations: tuple[Migration, ...]) -> int:
    """Bring the file at `path` to the last version; returns the version it had before.

    Raises SettingsProblem, with the file unchanged, where a step fails or the file is newer than
    the program.
    """
    with closing(sqlite3.connect(path, isolation_level=None)) as connection:
        connection.execute("PRAGMA secure_delete = ON")
        connection.execute("PRAGMA synchronous = FULL")
        version = schema_version(connection)
        if version > len(migrations):
            raise SettingsProblem(
                f"{path} was written by a newer release (schema {version}, this one knows "
                f"{len(migrations)}): install that release or a later one"
            )
        waiting = migrations[version:]
        copy = path.with_name(f"{path.name}.before-{len(migrations):04}")
        if waiting and version:
            _copy(connection, copy)
        for migration in waiting:
            _apply(connection, migration, path)
        if waiting:
            _check(connection, path)
            copy.unlink(missing_ok=True)
    return version


def schema_version(connection: sqlite3.Connection) -> int:
    """How many migrations the file has seen."""
    version: int = connection.execute("PRAGMA user_version").fetchone()[0]
    return version


def _apply(connection: sqlite3.Connection, migration: Migration, path: Path) -> None:
    # Foreign keys cannot be switched inside a transaction; they are checked before the commit.
    connection.execute("PRAGMA foreign_keys = OFF")
    try:
        connection.execute("BEGIN IMMEDIATE")
        for statement in statements(migration.sql):
            connection.execute(statement)
        if connection.execute("PRAGMA foreign_key_check").fetchone():
            raise sqlite3.IntegrityError("rows that point nowhere")
        connection.execute(f"PRAGMA user_version = {migration.version}")
        connection.execute("COMMIT")
    except sqlite3.Error as error:
        connection.rollback()
        raise SettingsProblem(
            f"{path}: change {migration.name} of the database failed and changed nothing: {error}"
        ) from error


def statements(script: str) -> Iterator[str]:
    """The statements of a script, one by one, because `executescript` would commit first."""
    pending = ""
    for line in script.splitlines(keepends=True):
        pending += line
        if sqlite3.complete_statement(pending):
            yield pending.strip()
            pending = ""
    if any(line.strip() and not line.lstrip().startswith("--") for line in pending.splitlines()):
        raise sqlite3.OperationalError(f"no end of statement: {pending.strip()[:60]!r}")


def _copy(connection: sqlite3.Connection, copy: Path) -> None:
    copy.touch(mode=0o600)
    with closing(sqlite3.connect(copy)) as target:
        connection.backup(target)


def _check(connection: sqlite3.Connection, path: Path) -> None:
    (verdict,) = connection.execute("PRAGMA integrity_check").fetchone()
    if verdict != "ok":
        raise SettingsProblem(f"{path} is damaged ({verdict}): restore a backup")
