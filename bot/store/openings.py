"""Which lines the director has opened for hearing."""

from __future__ import annotations

from bot.store.database import Snapshot, Transaction


async def open_line(change: Transaction, reading_id: str) -> bool:
    """Open a line for hearing; False where there is none of that id."""
    return await change.update("readings", {"opened": 1}, {"reading_id": reading_id}) > 0


async def line_is_open(read: Snapshot, reading_id: str) -> bool:
    """Whether the director opened a line; False for one that is not there."""
    row = await read.row("SELECT opened FROM readings WHERE reading_id = ?", reading_id)
    return row is not None and bool(row["opened"])
