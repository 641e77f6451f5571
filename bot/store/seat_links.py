"""Accounts elsewhere at seats, as tags, and the tags of the codes that link one once."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from bot.store.database import Snapshot, Transaction
from bot.store.seats import Seat, seat_in


async def seat_of_account(read: Snapshot, choir_id: str, link_tag: bytes) -> Seat | None:
    """The seat of an account in a choir, None where it has none."""
    row = await read.row(
        "SELECT seats.* FROM seat_links JOIN seats USING (seat_id) "
        "WHERE link_tag = ? AND choir_id = ?",
        link_tag,
        choir_id,
    )
    return None if row is None else seat_in(row)


async def has_account(read: Snapshot, seat_id: str) -> bool:
    """Whether an account is linked with a seat."""
    return await read.row("SELECT 1 FROM seat_links WHERE seat_id = ?", seat_id) is not None


async def keep_account(change: Transaction, seat: Seat, link_tag: bytes) -> None:
    """Link an account with a seat: one account a seat, one seat an account in a choir."""
    before = await seat_of_account(change, seat.choir_id, link_tag)
    for seat_id in {seat.id, seat.id if before is None else before.id}:
        await drop_account(change, seat_id)
    await change.insert("seat_links", {"seat_id": seat.id, "link_tag": link_tag})


async def drop_account(change: Transaction, seat_id: str) -> bool:
    """Forget the account of a seat; False where there was none."""
    return await change.delete("seat_links", {"seat_id": seat_id}) > 0


async def keep_link_code(change: Transaction, seat_id: str, code_tag: bytes, on: date) -> None:
    """Keep a code in place of the seat's earlier one."""
    await drop_link_code(change, seat_id)
    await change.insert(
        "seat_link_codes",
        {"seat_id": seat_id, "code_tag": code_tag, "made_on": on.isoformat()},
    )


async def drop_link_code(change: Transaction, seat_id: str) -> None:
    """Forget the code of a seat."""
    await change.delete("seat_link_codes", {"seat_id": seat_id})


async def seat_behind_link(
    read: Snapshot, choir_id: str, code_tags: Iterable[bytes]
) -> Seat | None:
    """The seat of a choir that one of these tags of a code belongs to."""
    tags = set(code_tags)
    rows = await read.rows(
        "SELECT seats.*, code_tag FROM seats JOIN seat_link_codes USING (seat_id) "
        "WHERE choir_id = ?",
        choir_id,
    )
    return next((seat_in(row) for row in rows if bytes(row["code_tag"]) in tags), None)


async def drop_old_link_codes(change: Transaction, choir_id: str, before: date) -> None:
    """Delete a choir's codes that were made before a date."""
    rows = await change.rows(
        "SELECT seat_id FROM seat_link_codes JOIN seats USING (seat_id) "
        "WHERE choir_id = ? AND seat_link_codes.made_on < ?",
        choir_id,
        before.isoformat(),
    )
    for row in rows:
        await drop_link_code(change, row["seat_id"])


async def drop_choirs_accounts(change: Transaction, choir_id: str) -> int:
    """Forget every account and code at a choir's seats; how many accounts there were."""
    rows = await change.rows("SELECT seat_id FROM seats WHERE choir_id = ?", choir_id)
    gone = 0
    for row in rows:
        gone += await drop_account(change, row["seat_id"])
        await drop_link_code(change, row["seat_id"])
    return gone
