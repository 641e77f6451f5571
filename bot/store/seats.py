"""Seats as rows, the tags of their codes, and the one device at each."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from sqlite3 import Row

from bot.store.database import Snapshot, Transaction


@dataclass(frozen=True, slots=True, kw_only=True)
class Seat:
    """One singer, known by a number on a slip. `id` is random; `made_on` local to the choir."""

    id: str
    choir_id: str
    number: int
    made_on: date


@dataclass(frozen=True, slots=True, kw_only=True)
class Visit:
    """The device at a seat. `opened_on` is local to the choir; times are kept nowhere."""

    seat: Seat
    token_hash: bytes
    opened_on: date
    remembered: bool


async def seats_of(read: Snapshot, choir_id: str) -> tuple[Seat, ...]:
    """A choir's seats by number."""
    rows = await read.rows("SELECT * FROM seats WHERE choir_id = ? ORDER BY seat_no", choir_id)
    return tuple(seat_in(row) for row in rows)


async def find_seat(read: Snapshot, seat_id: str) -> Seat | None:
    """One seat, None where there is none of that id."""
    row = await read.row("SELECT * FROM seats WHERE seat_id = ?", seat_id)
    return None if row is None else seat_in(row)


async def seat_numbered(read: Snapshot, choir_id: str, number: int) -> Seat | None:
    """The seat of a choir with this number."""
    row = await read.row("SELECT * FROM seats WHERE choir_id = ? AND seat_no = ?", choir_id, number)
    return None if row is None else seat_in(row)


async def seat_behind(read: Snapshot, code_tag: bytes) -> Seat | None:
    """The seat that a code opens."""
    row = await read.row(
        "SELECT seats.* FROM seats JOIN seat_codes USING (seat_id) WHERE code_tag = ?", code_tag
    )
    return None if row is None else seat_in(row)


async def any_seat(read: Snapshot) -> bool:
    """Whether any choir has a seat."""
    return await read.row("SELECT 1 FROM seats LIMIT 1") is not None


async def add_seat(change: Transaction, seat: Seat) -> None:
    """Keep a new seat."""
    await change.insert(
        "seats",
        {
            "seat_id": seat.id,
            "choir_id": seat.choir_id,
            "seat_no": seat.number,
            "made_on": seat.made_on.isoformat(),
        },
    )


async def keep_code(change: Transaction, seat_id: str, code_tag: bytes) -> None:
    """Give a seat a code in place of its earlier one; whoever sat there by that one leaves."""
    await drop_code(change, seat_id)
    await change.insert("seat_codes", {"seat_id": seat_id, "code_tag": code_tag})


async def drop_code(change: Transaction, seat_id: str) -> bool:
    """End a seat's code and its visit; False where it had no code."""
    await change.delete("seat_sessions", {"seat_id": seat_id})
    return await change.delete("seat_codes", {"seat_id": seat_id}) > 0


async def drop_seat(change: Transaction, seat_id: str) -> bool:
    """Delete a seat with everything about it; False where there is none of that id."""
    return await change.delete("seats", {"seat_id": seat_id}) > 0


async def begin_visit(change: Transaction, visit: Visit) -> bool:
    """Seat a device; True where another one had to leave for it."""
    left = await change.delete("seat_sessions", {"seat_id": visit.seat.id})
    await change.insert(
        "seat_sessions",
        {
            "seat_id": visit.seat.id,
            "token_hash": visit.token_hash,
            "opened_on": visit.opened_on.isoformat(),
            "remembered": int(visit.remembered),
        },
    )
    return left > 0


async def find_visit(read: Snapshot, token_hash: bytes) -> Visit | None:
    """The visit that a token belongs to."""
    row = await read.row(
        "SELECT * FROM seat_sessions JOIN seats USING (seat_id) WHERE token_hash = ?", token_hash
    )
    return None if row is None else _visit(row)


async def visits_of(read: Snapshot, choir_id: str) -> tuple[Visit, ...]:
    """Every visit at a choir's seats."""
    rows = await read.rows(
        "SELECT * FROM seat_sessions JOIN seats USING (seat_id) WHERE choir_id = ?", choir_id
    )
    return tuple(_visit(row) for row in rows)


async def end_visit(change: Transaction, seat_id: str) -> None:
    """Whoever is at the seat leaves."""
    await change.delete("seat_sessions", {"seat_id": seat_id})


def seat_in(row: Row) -> Seat:
    """The seat in a row that has every column of it."""
    return Seat(
        id=row["seat_id"],
        choir_id=row["choir_id"],
        number=row["seat_no"],
        made_on=date.fromisoformat(row["made_on"]),
    )


def _visit(row: Row) -> Visit:
    return Visit(
        seat=seat_in(row),
        token_hash=bytes(row["token_hash"]),
        opened_on=date.fromisoformat(row["opened_on"]),
        remembered=bool(row["remembered"]),
    )
