"""Which mystery tunes a house has on, and which ones were put before a choir."""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping
from contextlib import closing
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from bot.store.database import Snapshot, Transaction


@dataclass(frozen=True, slots=True, kw_only=True)
class TuneRead:
    """A tune as a reading of a choir; `told` once its name was told."""

    reading_id: str
    tune_id: str
    on: date
    told: bool


async def switches(read: Snapshot) -> Mapping[str, bool]:
    """What the director said of tunes; one that is missing is as the collection has it."""
    rows = await read.rows("SELECT * FROM tune_switches")
    return {row["tune_id"]: bool(row["is_on"]) for row in rows}


def switches_in(database: Path) -> Mapping[str, bool]:
    """What the director said of tunes, looked up beside a running room; nothing without a file."""
    if not database.is_file():
        return {}
    with closing(sqlite3.connect(f"file:{database}?mode=ro", uri=True)) as connection:
        try:
            rows = connection.execute("SELECT tune_id, is_on FROM tune_switches").fetchall()
        except sqlite3.OperationalError:  # a folder of before there were tunes
            return {}
    return {tune_id: bool(on) for tune_id, on in rows}


async def switch(change: Transaction, tune_id: str, *, on: bool) -> None:
    """Put a tune on or off."""
    await change.delete("tune_switches", {"tune_id": tune_id})
    await change.insert("tune_switches", {"tune_id": tune_id, "is_on": int(on)})


async def add_tune_read(change: Transaction, choir_id: str, reading_id: str, tune_id: str) -> None:
    """Note which tune a reading is."""
    await change.insert(
        "tunes_read",
        {"reading_id": reading_id, "choir_id": choir_id, "tune_id": tune_id, "told": 0},
    )


async def tunes_read(read: Snapshot, choir_id: str) -> tuple[TuneRead, ...]:
    """Every tune that was put before a choir, the oldest first."""
    rows = await read.rows(
        "SELECT tunes_read.*, read_on FROM tunes_read JOIN readings USING (reading_id) "
        "WHERE tunes_read.choir_id = ? ORDER BY read_on, draw",
        choir_id,
    )
    return tuple(
        TuneRead(
            reading_id=row["reading_id"],
            tune_id=row["tune_id"],
            on=date.fromisoformat(row["read_on"]),
            told=bool(row["told"]),
        )
        for row in rows
    )


async def mark_told(change: Transaction, reading_id: str) -> None:
    """Note that a tune's name was told."""
    await change.update("tunes_read", {"told": 1}, {"reading_id": reading_id})
