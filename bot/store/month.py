"""The daily readings of a span of dates, and what became of each day on any surface."""

from __future__ import annotations

from collections import defaultdict
from datetime import date

from bot.activities.reading import DAILY, Reading
from bot.activities.reading_day import Phase
from bot.store.database import Snapshot
from bot.store.readings import find_reading


async def readings_between(
    read: Snapshot, choir_id: str, first: date, last: date
) -> dict[date, Reading]:
    """The reading of each date from the first to the last, where there is one."""
    rows = await read.rows(
        "SELECT reading_id FROM readings WHERE choir_id = ? AND slot = ? AND current = 1 "
        "AND read_on BETWEEN ? AND ?",
        choir_id,
        DAILY,
        first.isoformat(),
        last.isoformat(),
    )
    found = [await find_reading(read, row["reading_id"]) for row in rows]
    return {reading.on: reading for reading in found if reading is not None}


async def phases_between(
    read: Snapshot, choir_id: str, first: date, last: date
) -> dict[date, frozenset[Phase]]:
    """What is known of each date, over all surfaces."""
    rows = await read.rows(
        "SELECT read_on, state FROM deliveries WHERE choir_id = ? AND slot = ? "
        "AND read_on BETWEEN ? AND ?",
        choir_id,
        DAILY,
        first.isoformat(),
        last.isoformat(),
    )
    phases: defaultdict[date, set[Phase]] = defaultdict(set)
    for row in rows:
        phases[date.fromisoformat(row["read_on"])].add(Phase(row["state"]))
    return {on: frozenset(each) for on, each in phases.items()}
