"""Falls of the curtain as rows: a choir's journal, in which no seat stands."""

from __future__ import annotations

from datetime import date
from fractions import Fraction

from bot.activities.curtain import Fall, Spot
from bot.store.database import Snapshot, Transaction


async def falls_of(read: Snapshot, choir_id: str) -> tuple[Fall, ...]:
    """Every fall before a choir, the oldest first; the number of one is its place, from 1."""
    rows = await read.rows(
        "SELECT * FROM curtain_falls WHERE choir_id = ? ORDER BY number", choir_id
    )
    return tuple(
        Fall(
            on=date.fromisoformat(row["fell_on"]),
            spot=Spot(measure=row["measure"], beat=Fraction(row["beat"])),
            left=row["beats_left"],
            held=row["beats_held"],
            by_hand=bool(row["by_hand"]),
        )
        for row in rows
    )


async def add_fall(change: Transaction, choir_id: str, fall: Fall) -> int:
    """Write a fall down; its number."""
    row = await change.row(
        "SELECT COALESCE(MAX(number), 0) + 1 AS next FROM curtain_falls WHERE choir_id = ?",
        choir_id,
    )
    assert row is not None
    number: int = row["next"]
    await change.insert(
        "curtain_falls",
        {
            "choir_id": choir_id,
            "number": number,
            "fell_on": fall.on.isoformat(),
            "measure": fall.spot.measure,
            "beat": str(fall.spot.beat),
            "beats_left": fall.left,
            "beats_held": fall.held,
            "by_hand": int(fall.by_hand),
        },
    )
    return number


async def keep_held(change: Transaction, choir_id: str, number: int, held: int | None) -> bool:
    """Keep how many beats a class held after a fall, None to take it back; False for no such."""
    changed = await change.update(
        "curtain_falls", {"beats_held": held}, {"choir_id": choir_id, "number": number}
    )
    return changed > 0
