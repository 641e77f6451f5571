"""Approval sheets as rows, the last date that the clock showed, and the list of what was done."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from datetime import date
from sqlite3 import Row

from bot.store.database import Snapshot, Transaction


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptSheet:
    """A sheet's file; it counts while `confirmed_hash` is the short hash of these very bytes."""

    sheet_id: str
    file: bytes
    confirmed_hash: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class AuditEntry:
    """One thing that was done. It names no seat, no person and no time."""

    sequence: int
    done_on: date
    role: str
    action: str
    amount: int
    sheet: str | None
    chain: str


async def all_sheets(read: Snapshot) -> tuple[KeptSheet, ...]:
    """Every sheet, drafts too."""
    rows = await read.rows("SELECT * FROM approval_sheets ORDER BY rowid")
    return tuple(_sheet(row) for row in rows)


async def find_sheet(read: Snapshot, sheet_id: str) -> KeptSheet | None:
    """One sheet, None where there is none of that id."""
    row = await read.row("SELECT * FROM approval_sheets WHERE sheet_id = ?", sheet_id)
    return None if row is None else _sheet(row)


async def add_draft(change: Transaction, sheet_id: str, file: bytes) -> None:
    """Keep a sheet that nobody has signed yet."""
    await change.insert(
        "approval_sheets", {"sheet_id": sheet_id, "file": file, "confirmed_hash": None}
    )


async def confirm_sheet(change: Transaction, sheet_id: str, short_hash: str) -> None:
    """Keep the hash that was typed in."""
    await change.update("approval_sheets", {"confirmed_hash": short_hash}, {"sheet_id": sheet_id})


async def drop_sheet(change: Transaction, sheet_id: str) -> bool:
    """Take a sheet away; False where there is none of that id."""
    return await change.delete("approval_sheets", {"sheet_id": sheet_id}) > 0


async def seen_on(read: Snapshot) -> date | None:
    """The last date (UTC) that the clock showed."""
    row = await read.row("SELECT seen_on FROM clock_seen")
    return None if row is None else date.fromisoformat(row["seen_on"])


async def see_date(change: Transaction, day: date) -> None:
    """Note the date."""
    await change.delete("clock_seen", {"only": 1})
    await change.insert("clock_seen", {"only": 1, "seen_on": day.isoformat()})


async def audit_entries(read: Snapshot) -> tuple[AuditEntry, ...]:
    """All that was done, the oldest first."""
    rows = await read.rows("SELECT * FROM audit ORDER BY sequence")
    return tuple(_entry(row) for row in rows)


async def add_audit(
    change: Transaction, *, done_on: date, role: str, action: str, amount: int, sheet: str | None
) -> None:
    """Write down what was done, chained to the entry before."""
    last = await change.row("SELECT sequence, chain FROM audit ORDER BY sequence DESC LIMIT 1")
    sequence, before = (1, "") if last is None else (last["sequence"] + 1, last["chain"])
    link = f"{before} {sequence} {done_on} {role} {action} {amount} {sheet}"
    await change.insert(
        "audit",
        {
            "sequence": sequence,
            "done_on": done_on.isoformat(),
            "role": role,
            "action": action,
            "amount": amount,
            "sheet": sheet,
            "chain": hashlib.sha256(link.encode()).hexdigest()[:32],
        },
    )


async def drop_audit_before(change: Transaction, day: date) -> None:
    """Forget what was done before a day."""
    rows = await change.rows("SELECT sequence FROM audit WHERE done_on < ?", day.isoformat())
    for row in rows:
        await change.delete("audit", {"sequence": row["sequence"]})


def _sheet(row: Row) -> KeptSheet:
    return KeptSheet(
        sheet_id=row["sheet_id"], file=bytes(row["file"]), confirmed_hash=row["confirmed_hash"]
    )


def _entry(row: Row) -> AuditEntry:
    return AuditEntry(
        sequence=row["sequence"],
        done_on=date.fromisoformat(row["done_on"]),
        role=row["role"],
        action=row["action"],
        amount=row["amount"],
        sheet=row["sheet"],
        chain=row["chain"],
    )
