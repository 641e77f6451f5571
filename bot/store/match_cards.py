"""What the cards of scores said last, as rows: one for each match and surface."""

from __future__ import annotations

from datetime import date

from bot.store.database import Snapshot, Transaction


async def card_told(read: Snapshot, match_id: str, surface: str) -> str | None:
    """What a card said last; None where that was never written down."""
    row = await read.row(
        "SELECT told FROM match_cards WHERE match_id = ? AND surface = ?", match_id, surface
    )
    return None if row is None else row["told"]


async def keep_told(change: Transaction, match_id: str, surface: str, told: str) -> None:
    """Write down what a card says now."""
    key = {"match_id": match_id, "surface": surface}
    if not await change.update("match_cards", {"told": told}, key):
        await change.insert("match_cards", {**key, "told": told})


async def match_numbered(read: Snapshot, choir_id: str, number: int) -> str | None:
    """The id of a choir's match by its number; None where there is none."""
    row = await read.row(
        "SELECT match_id FROM matches WHERE choir_id = ? AND number = ?", choir_id, number
    )
    return None if row is None else row["match_id"]


async def matches_since(read: Snapshot, first: date) -> tuple[tuple[str, str], ...]:
    """The matches of all choirs from a date on, in order: each with its choir, by their ids."""
    rows = await read.rows(
        "SELECT match_id, choir_id FROM matches WHERE played_on >= ? ORDER BY choir_id, number",
        first.isoformat(),
    )
    return tuple((row["match_id"], row["choir_id"]) for row in rows)
