"""Tellings of stories as rows: the story as it stood, its lines, its journal, ballots."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from sqlite3 import Row

import msgspec

from bot.activities import story_run as events
from bot.store.database import Snapshot, Transaction

_KINDS: Mapping[str, type[events.Event]] = {
    "opened": events.Opened,
    "vote-opened": events.VoteOpened,
    "vote-closed": events.VoteClosed,
    "chosen": events.Chosen,
    "advanced": events.Advanced,
    "paused": events.Paused,
    "resumed": events.Resumed,
    "ended": events.Ended,
    "undone": events.Undone,
}
_NAMES = {kind: name for name, kind in _KINDS.items()}


@dataclass(frozen=True, slots=True, kw_only=True)
class Telling:
    """One telling of a story to a choir. `source` is the story's text as it stood at the start."""

    id: str
    choir_id: str
    story_id: str
    source: str
    began_on: date
    ended_on: date | None = None


async def add_telling(change: Transaction, telling: Telling) -> None:
    """Begin a telling."""
    await change.insert(
        "story_runs",
        {
            "run_id": telling.id,
            "choir_id": telling.choir_id,
            "story_id": telling.story_id,
            "source": telling.source,
            "began_on": telling.began_on.isoformat(),
        },
    )


async def open_telling(read: Snapshot, choir_id: str) -> Telling | None:
    """The telling that a choir is in; None between stories."""
    row = await read.row(
        "SELECT * FROM story_runs WHERE choir_id = ? AND ended_on IS NULL", choir_id
    )
    return None if row is None else _telling(row)


async def open_tellings(read: Snapshot) -> tuple[Telling, ...]:
    """Every telling that is not over."""
    rows = await read.rows("SELECT * FROM story_runs WHERE ended_on IS NULL ORDER BY run_id")
    return tuple(map(_telling, rows))


async def past_tellings(read: Snapshot, choir_id: str) -> tuple[Telling, ...]:
    """What a choir was told, the newest first."""
    rows = await read.rows(
        "SELECT * FROM story_runs WHERE choir_id = ? AND ended_on IS NOT NULL "
        "ORDER BY ended_on DESC, run_id",
        choir_id,
    )
    return tuple(map(_telling, rows))


async def end_telling(change: Transaction, run_id: str, on: date | None) -> None:
    """Mark it as over, or as open again (None)."""
    ended = None if on is None else on.isoformat()
    await change.update("story_runs", {"ended_on": ended}, {"run_id": run_id})


async def journal(read: Snapshot, run_id: str) -> tuple[events.Event, ...]:
    """What happened, in order."""
    rows = await read.rows(
        "SELECT kind, event FROM story_events WHERE run_id = ? ORDER BY number", run_id
    )
    return tuple(msgspec.json.decode(row["event"], type=_KINDS[row["kind"]]) for row in rows)


async def add_event(change: Transaction, run_id: str, number: int, event: events.Event) -> None:
    """Write down what happened as number `number`; a number is written once."""
    await change.insert(
        "story_events",
        {
            "run_id": run_id,
            "number": number,
            "kind": _NAMES[type(event)],
            "event": msgspec.json.encode(event).decode(),
        },
    )


async def add_line(change: Transaction, run_id: str, scene: str, reading_id: str) -> None:
    """Note which reading is the line of a scene."""
    await change.insert("story_lines", {"run_id": run_id, "scene": scene, "reading_id": reading_id})


async def line_of(read: Snapshot, run_id: str, scene: str) -> str | None:
    """The id of the reading that is a scene's line; None for a scene without one."""
    row = await read.row(
        "SELECT reading_id FROM story_lines WHERE run_id = ? AND scene = ?", run_id, scene
    )
    return None if row is None else row["reading_id"]


async def scene_of_line(read: Snapshot, run_id: str, reading_id: str) -> str | None:
    """The scene whose line a reading is; None for a reading that is none of the telling."""
    row = await read.row(
        "SELECT scene FROM story_lines WHERE run_id = ? AND reading_id = ?", run_id, reading_id
    )
    return None if row is None else row["scene"]


async def cast_ballot(change: Transaction, run_id: str, seat_id: str, path: int) -> None:
    """Keep a seat's ballot in place of an earlier one."""
    where = {"seat_id": seat_id, "run_id": run_id}
    await change.delete("story_ballots", where)
    await change.insert("story_ballots", {**where, "path": path})


async def ballot_of(read: Snapshot, run_id: str, seat_id: str) -> int | None:
    """The path that a seat votes for, None before it does."""
    row = await read.row(
        "SELECT path FROM story_ballots WHERE run_id = ? AND seat_id = ?", run_id, seat_id
    )
    return None if row is None else row["path"]


async def ballots_of_seat(read: Snapshot, seat_id: str) -> tuple[int, ...]:
    """The paths, from 0, that a seat votes for just now: one at most while a vote is open."""
    rows = await read.rows("SELECT path FROM story_ballots WHERE seat_id = ?", seat_id)
    return tuple(row["path"] for row in rows)


async def ballots(read: Snapshot, run_id: str, paths: int) -> tuple[int, ...]:
    """How many ballots each path has."""
    rows = await read.rows(
        "SELECT path, count(*) AS cast FROM story_ballots WHERE run_id = ? GROUP BY path", run_id
    )
    counted = {row["path"]: row["cast"] for row in rows}
    return tuple(counted.get(path, 0) for path in range(paths))


async def drop_ballots(change: Transaction, run_id: str) -> None:
    """Forget who voted for what; not a byte stays."""
    await change.delete("story_ballots", {"run_id": run_id})


def _telling(row: Row) -> Telling:
    ended = row["ended_on"]
    return Telling(
        id=row["run_id"],
        choir_id=row["choir_id"],
        story_id=row["story_id"],
        source=row["source"],
        began_on=date.fromisoformat(row["began_on"]),
        ended_on=None if ended is None else date.fromisoformat(ended),
    )
