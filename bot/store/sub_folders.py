"""The substitute's folder as rows: readings in slots of their own, read once the director says so.

A sheet that was read has a delivery on paper, dated with the day on which the director said it.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from bot.activities.reading import Reading
from bot.activities.reading_day import ReadingDay
from bot.store.database import Snapshot, Transaction
from bot.store.deliveries import begin_day
from bot.store.readings import add_reading, find_reading, retire_reading

PAPER = "paper"  # the surface of what is handed out
SLOTS = tuple(f"sub-{number}" for number in range(1, 6))


async def find_folder(read: Snapshot, choir_id: str) -> tuple[tuple[Reading, date | None], ...]:
    """The sheets of a choir's folder in order, each with the date on which it was read."""
    rows = await read.rows(
        "SELECT readings.reading_id, deliveries.read_on FROM readings "
        "LEFT JOIN deliveries ON deliveries.reading_id = readings.reading_id AND surface = ? "
        "WHERE readings.choir_id = ? AND readings.slot IN (?, ?, ?, ?, ?) AND current = 1 "
        "ORDER BY readings.slot",
        PAPER,
        choir_id,
        *SLOTS,
    )
    found = []
    for row in rows:
        reading = await find_reading(read, row["reading_id"])
        assert reading is not None
        on = None if row["read_on"] is None else date.fromisoformat(row["read_on"])
        found.append((reading, on))
    return tuple(found)


async def keep_folder(change: Transaction, choir_id: str, sheets: Sequence[Reading]) -> None:
    """Put new sheets in place of the old, which stay as history: nobody is given them again."""
    for old, _ in await find_folder(change, choir_id):
        await retire_reading(change, old.id)
    for sheet in sheets:
        await add_reading(change, sheet)


async def mark_read(change: Transaction, day: ReadingDay) -> bool:
    """Keep that a sheet was read; False where that day has a sheet of its place already."""
    return await begin_day(change, day)


async def mark_unread(change: Transaction, reading_id: str) -> None:
    """Take it back."""
    await change.delete("deliveries", {"reading_id": reading_id, "surface": PAPER})
