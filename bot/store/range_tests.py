"""Range tests of parts as rows; every function works inside what it is given."""

from __future__ import annotations

from datetime import date

from bot.activities.ranges import RangeTest
from bot.music.pitch import Pitch
from bot.music.voice import Voice
from bot.store.database import Snapshot, Transaction


async def keep_test(change: Transaction, choir_id: str, test: RangeTest) -> None:
    """Keep a test; another one of the same part and day is written over."""
    where = {"choir_id": choir_id, "voice": test.voice, "tested_on": test.on.isoformat()}
    await change.delete("range_tests", where)
    notes = {"low": test.low.plain, "high": test.high.plain}
    await change.insert("range_tests", where | notes)


async def range_tests(read: Snapshot, choir_id: str) -> tuple[RangeTest, ...]:
    """All tests of a choir, the newest first, higher parts before lower ones."""
    rows = await read.rows(
        "SELECT * FROM range_tests WHERE choir_id = ? ORDER BY tested_on DESC", choir_id
    )
    found = [
        RangeTest(
            voice=Voice(row["voice"]),
            on=date.fromisoformat(row["tested_on"]),
            low=Pitch.parse(row["low"]),
            high=Pitch.parse(row["high"]),
        )
        for row in rows
    ]
    order = list(Voice)
    return tuple(sorted(found, key=lambda test: (-test.on.toordinal(), order.index(test.voice))))
