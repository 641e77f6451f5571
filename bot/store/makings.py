"""What was asked for and is still to be made, as rows: one of a kind for a choir at a time."""

from __future__ import annotations

from typing import NamedTuple

from bot.store.database import Snapshot, Transaction


class Waiting(NamedTuple):
    """Something to make; `wish` is what was asked for, as its kind writes it."""

    choir_id: str
    kind: str
    wish: str


async def keep_wish(change: Transaction, waiting: Waiting) -> bool:
    """Keep it unless the choir waits for one of its kind; whether it was kept."""
    return await change.insert_once("makings", waiting._asdict())


async def all_waiting(read: Snapshot) -> tuple[Waiting, ...]:
    """Everything that is still to be made."""
    rows = await read.rows("SELECT choir_id, kind, wish FROM makings ORDER BY rowid")
    return tuple(Waiting(*row) for row in rows)


async def wish_of(read: Snapshot, choir_id: str, kind: str) -> str | None:
    """What a choir waits for of a kind; None where it waits for nothing."""
    row = await read.row("SELECT wish FROM makings WHERE choir_id = ? AND kind = ?", choir_id, kind)
    return None if row is None else str(row["wish"])


async def drop_wish(change: Transaction, choir_id: str, kind: str) -> None:
    """It was made, or cannot be."""
    await change.delete("makings", {"choir_id": choir_id, "kind": kind})
