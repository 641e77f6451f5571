"""Deliveries as rows: one for each choir, local date, slot and surface, and never a second."""

from __future__ import annotations

from datetime import date, datetime
from sqlite3 import Row

from bot.activities.reading import DAILY
from bot.activities.reading_day import Phase, ReadingDay
from bot.store.database import Snapshot, Transaction, Value


async def find_day(
    read: Snapshot, choir_id: str, on: date, surface: str, slot: str = DAILY
) -> ReadingDay | None:
    """What became of a day on a surface; None where nothing was begun."""
    row = await read.row(
        "SELECT * FROM deliveries WHERE choir_id = ? AND read_on = ? AND slot = ? AND surface = ?",
        choir_id,
        on.isoformat(),
        slot,
        surface,
    )
    return None if row is None else _day(row)


async def days_of(
    read: Snapshot, choir_id: str, *phases: Phase, limit: int = 20
) -> tuple[ReadingDay, ...]:
    """A choir's days in these phases on any surface, the latest first."""
    marks = ", ".join("?" for _ in phases)
    rows = await read.rows(
        f"SELECT * FROM deliveries WHERE choir_id = ? AND state IN ({marks}) "  # noqa: S608 - marks only
        "ORDER BY read_on DESC, slot DESC, surface LIMIT ?",
        choir_id,
        *phases,
        limit,
    )
    return tuple(_day(row) for row in rows)


async def last_day(read: Snapshot, choir_id: str, surface: str) -> date | None:
    """The latest date of a choir on a surface of which anything is known.

    A surface that is new takes over from the others, so that their past is not its own.
    """
    row = await read.row(
        "SELECT coalesce(max(read_on) FILTER (WHERE surface = ?), max(read_on)) AS last "
        "FROM deliveries WHERE choir_id = ? AND slot = ?",
        surface,
        choir_id,
        DAILY,
    )
    return None if row is None or row["last"] is None else date.fromisoformat(row["last"])


async def begun(read: Snapshot, choir_id: str, on: date, slot: str = DAILY) -> bool:
    """Whether any surface has begun to post the reading of a date: it is frozen from then on."""
    row = await read.row(
        "SELECT 1 FROM deliveries WHERE choir_id = ? AND read_on = ? AND slot = ? "
        "AND state <> 'missed'",
        choir_id,
        on.isoformat(),
        slot,
    )
    return row is not None


async def begin_day(change: Transaction, day: ReadingDay) -> bool:
    """Keep a day that was claimed or missed; False where its key is taken."""
    return await change.insert_once("deliveries", _key(day) | _state(day))


async def settle_day(change: Transaction, day: ReadingDay) -> None:
    """Write a day over its earlier state."""
    await change.update("deliveries", _state(day), _key(day))


def _key(day: ReadingDay) -> dict[str, Value]:
    return {
        "choir_id": day.choir_id,
        "read_on": day.on.isoformat(),
        "slot": day.slot,
        "surface": day.surface,
    }


def _state(day: ReadingDay) -> dict[str, Value]:
    return {
        "state": day.phase,
        "reading_id": day.reading_id,
        "nonce": None if day.reading_id is None else day.nonce,
        "message_id": day.message_id,
        "claimed_at": _text(day.claimed_at),
        "settled_at": _text(day.settled_at),
    }


def _text(moment: datetime | None) -> str | None:
    return None if moment is None else moment.isoformat(timespec="seconds")


def _moment(text: str | None) -> datetime | None:
    return None if text is None else datetime.fromisoformat(text)


def _day(row: Row) -> ReadingDay:
    return ReadingDay(
        choir_id=row["choir_id"],
        on=date.fromisoformat(row["read_on"]),
        slot=row["slot"],
        surface=row["surface"],
        phase=Phase(row["state"]),
        reading_id=row["reading_id"],
        message_id=row["message_id"],
        claimed_at=_moment(row["claimed_at"]),
        settled_at=_moment(row["settled_at"]),
    )
