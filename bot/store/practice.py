"""Taps, days and weeks of a seat as rows, and the class counts that they become."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from bot.activities.practice import WeekCount
from bot.activities.taps import Went
from bot.store.database import Snapshot, Transaction


async def offered_days(read: Snapshot, choir_id: str, first: date, last: date) -> frozenset[date]:
    """Days from `first` to `last` on which a line went up anywhere.

    A day that was missed, or of which nobody knows, is none: it breaks nothing.
    """
    rows = await read.rows(
        "SELECT DISTINCT read_on FROM deliveries WHERE choir_id = ? AND slot = 'daily' "
        "AND state = 'sent' AND read_on BETWEEN ? AND ?",
        choir_id,
        first.isoformat(),
        last.isoformat(),
    )
    return frozenset(date.fromisoformat(row["read_on"]) for row in rows)


async def rests_of(read: Snapshot, choir_id: str) -> frozenset[date]:
    """Days of rest that the director gave."""
    rows = await read.rows("SELECT rest_on FROM given_rests WHERE choir_id = ?", choir_id)
    return frozenset(date.fromisoformat(row["rest_on"]) for row in rows)


async def give_rest(change: Transaction, choir_id: str, on: date) -> None:
    """Make a day one of rest."""
    await change.insert_once("given_rests", {"choir_id": choir_id, "rest_on": on.isoformat()})


async def take_rest(change: Transaction, choir_id: str, on: date) -> None:
    """Make it a day like any other again."""
    await change.delete("given_rests", {"choir_id": choir_id, "rest_on": on.isoformat()})


async def days_read(read: Snapshot, seat_id: str) -> frozenset[date]:
    """The days of which the seat still has a mark."""
    rows = await read.rows("SELECT read_on FROM read_days WHERE seat_id = ?", seat_id)
    return frozenset(date.fromisoformat(row["read_on"]) for row in rows)


async def mark_read(change: Transaction, seat_id: str, on: date) -> bool:
    """Mark a day as read; False where it was marked already."""
    return await change.insert_once("read_days", {"seat_id": seat_id, "read_on": on.isoformat()})


async def drop_day(change: Transaction, seat_id: str, on: date) -> None:
    """Forget a day that has become part of a week."""
    await change.delete("read_days", {"seat_id": seat_id, "read_on": on.isoformat()})


async def taps_of(read: Snapshot, seat_id: str) -> Mapping[date, Went]:
    """How the days went that the seat tapped today."""
    rows = await read.rows("SELECT read_on, went FROM taps WHERE seat_id = ?", seat_id)
    return {date.fromisoformat(row["read_on"]): Went(row["went"]) for row in rows}


async def add_tap(change: Transaction, seat_id: str, on: date, went: Went, tapped_on: date) -> None:
    """Keep how a day went until midnight."""
    row = {"seat_id": seat_id, "read_on": on.isoformat(), "tapped_on": tapped_on.isoformat()}
    await change.insert("taps", {**row, "went": went.value})


async def change_tap(change: Transaction, seat_id: str, on: date, went: Went) -> bool:
    """Keep another answer in its place; False where there is none, or it is folded already."""
    where = {"seat_id": seat_id, "read_on": on.isoformat()}
    return await change.update("taps", {"went": went.value}, where) > 0


async def fold_taps(change: Transaction, choir_id: str, before: date) -> int:
    """Turn taps of the days before a date into counts of the class; how many there were."""
    rows = await change.rows(
        "SELECT taps.* FROM taps JOIN seats USING (seat_id) WHERE choir_id = ? AND tapped_on < ?",
        choir_id,
        before.isoformat(),
    )
    for row in rows:
        await _count(change, choir_id, row["read_on"], row["went"])
        await change.delete("taps", {"seat_id": row["seat_id"], "read_on": row["read_on"]})
    return len(rows)


async def class_counts(
    read: Snapshot, choir_id: str, first: date
) -> Mapping[date, Mapping[Went, int]]:
    """How each day from `first` on went, as the class said."""
    rows = await read.rows(
        "SELECT * FROM class_counts WHERE choir_id = ? AND read_on >= ? ORDER BY read_on",
        choir_id,
        first.isoformat(),
    )
    counts: dict[date, dict[Went, int]] = {}
    for row in rows:
        day = counts.setdefault(date.fromisoformat(row["read_on"]), {})
        day[Went(row["went"])] = row["amount"]
    return counts


async def drop_counts_before(change: Transaction, choir_id: str, day: date) -> None:
    """Forget counts of the days before a date."""
    rows = await change.rows(
        "SELECT DISTINCT read_on FROM class_counts WHERE choir_id = ? AND read_on < ?",
        choir_id,
        day.isoformat(),
    )
    for row in rows:
        await change.delete("class_counts", {"choir_id": choir_id, "read_on": row["read_on"]})


async def weeks_of(read: Snapshot, seat_id: str) -> tuple[WeekCount, ...]:
    """A seat's folded weeks, the oldest first."""
    rows = await read.rows("SELECT * FROM week_counts WHERE seat_id = ? ORDER BY begins", seat_id)
    return tuple(
        WeekCount(
            begins=date.fromisoformat(row["begins"]), offered=row["offered"], read=row["days_read"]
        )
        for row in rows
    )


async def keep_week(change: Transaction, seat_id: str, week: WeekCount) -> bool:
    """Keep a folded week; False where it was folded already."""
    return await change.insert_once(
        "week_counts",
        {
            "seat_id": seat_id,
            "begins": week.begins.isoformat(),
            "offered": week.offered,
            "days_read": week.read,
        },
    )


async def _count(change: Transaction, choir_id: str, on: str, went: str) -> None:
    where = {"choir_id": choir_id, "read_on": on, "went": went}
    row = await change.row(
        "SELECT amount FROM class_counts WHERE choir_id = ? AND read_on = ? AND went = ?",
        choir_id,
        on,
        went,
    )
    if row is None:
        await change.insert("class_counts", {**where, "amount": 1})
    else:
        await change.update("class_counts", {"amount": row["amount"] + 1}, where)
