"""What a choir's meeting days read, as the director kept it, and what was really played."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from bot.activities.rotation import Kind
from bot.store.database import Snapshot, Transaction

# Where it is written down that something playful was read, beside the plan.
_PLAYED = (
    (Kind.MATCH, "SELECT DISTINCT played_on AS day FROM matches WHERE choir_id = ?"),
    (Kind.CURTAIN, "SELECT DISTINCT fell_on AS day FROM curtain_falls WHERE choir_id = ?"),
    (
        Kind.MYSTERY_TUNE,
        "SELECT DISTINCT read_on AS day FROM tunes_read JOIN readings USING (reading_id) "
        "WHERE tunes_read.choir_id = ?",
    ),
    (Kind.STORY, "SELECT DISTINCT began_on AS day FROM story_runs WHERE choir_id = ?"),
)


async def plan_between(
    read: Snapshot, choir_id: str, first: date, last: date
) -> Mapping[date, Kind]:
    """The days from `first` to `last` that the director kept."""
    rows = await read.rows(
        "SELECT plan_on, kind FROM plan_days WHERE choir_id = ? AND plan_on BETWEEN ? AND ?",
        choir_id,
        first.isoformat(),
        last.isoformat(),
    )
    return {date.fromisoformat(row["plan_on"]): Kind(row["kind"]) for row in rows}


async def played_before(read: Snapshot, choir_id: str, day: date) -> Mapping[date, Kind]:
    """What was played before a date, day by day; what really happened goes before the plan."""
    rows = await read.rows(
        "SELECT plan_on, COALESCE(read_as, kind) AS kind FROM plan_days WHERE choir_id = ?",
        choir_id,
    )
    found = {date.fromisoformat(row["plan_on"]): Kind(row["kind"]) for row in rows}
    for kind, question in _PLAYED:
        for row in await read.rows(question, choir_id):
            found[date.fromisoformat(row["day"])] = kind
    return {on: kind for on, kind in found.items() if on < day}


async def keep_plan(change: Transaction, choir_id: str, days: Mapping[date, Kind]) -> None:
    """Keep days in the place of what was kept for them."""
    for on, kind in days.items():
        day, kept = {"choir_id": choir_id, "plan_on": on.isoformat()}, {"kind": kind.value}
        if not await change.update("plan_days", kept, day):
            await change.insert("plan_days", {**day, **kept})


async def note_read(change: Transaction, choir_id: str, on: date, kind: Kind) -> None:
    """Write down what a day was read as.

    Something playful is kept for the day. A card changes nothing of what is kept, but a day that
    was read so and in no other way counts as a card; nothing is written where nothing is kept.
    """
    day = {"choir_id": choir_id, "plan_on": on.isoformat()}
    if kind is Kind.CARD:
        row = await change.row(
            "SELECT read_as FROM plan_days WHERE choir_id = ? AND plan_on = ?", *day.values()
        )
        if row is None or row["read_as"] is not None:
            return
    else:
        await keep_plan(change, choir_id, {on: kind})
    await change.update("plan_days", {"read_as": kind.value}, day)


async def forget_plan_day(change: Transaction, choir_id: str, on: date) -> None:
    """Leave a day to the proposal again."""
    await change.delete("plan_days", {"choir_id": choir_id, "plan_on": on.isoformat()})
