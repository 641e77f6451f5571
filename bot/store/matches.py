"""Matches as rows: what each began with, its lines, its journal. Only ever added to."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from sqlite3 import Row

import msgspec

from bot.activities.match_call import Call
from bot.activities.match_rules import Rules
from bot.activities.match_sides import Heads
from bot.activities.match_state import LineShape
from bot.store.database import Snapshot, Transaction
from bot.store.match_rules import RulesJson, rules_json, rules_kept


@dataclass(frozen=True, slots=True, kw_only=True)
class Begun:
    """What a match began with; the sides follow from heads, rules and seed."""

    rules: Rules
    heads: tuple[Heads, ...]
    seed: int
    turns: int
    lines: tuple[LineShape, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class MatchRow:
    """A match as it is kept; `number` counts a choir's matches from 1."""

    id: str
    choir_id: str
    number: int
    on: date
    begun: Begun
    ended: bool
    left: int
    right: int


class _Setup(msgspec.Struct, kw_only=True):
    """The column `setup`, format 1."""

    format: int
    rules: RulesJson
    heads: list[tuple[str, int]]
    rows: list[list[int]] = []  # of each part, where one stands in several
    seed: int
    turns: int
    lines: list[tuple[int, int]]


async def add_match(change: Transaction, match: MatchRow, reading_ids: Sequence[str]) -> None:
    """Keep a new match with the lines of its turns in order."""
    await change.insert(
        "matches",
        {
            "match_id": match.id,
            "choir_id": match.choir_id,
            "number": match.number,
            "played_on": match.on.isoformat(),
            "setup": _to_json(match.begun),
            "ended": match.ended,
            "left_points": match.left,
            "right_points": match.right,
        },
    )
    for number, reading_id in enumerate(reading_ids):
        await change.insert(
            "match_lines", {"match_id": match.id, "number": number, "reading_id": reading_id}
        )


async def next_match_number(read: Snapshot, choir_id: str) -> int:
    """The number of a choir's next match."""
    row = await read.row(
        "SELECT coalesce(max(number), 0) + 1 AS next FROM matches WHERE choir_id = ?", choir_id
    )
    assert row is not None
    number: int = row["next"]
    return number


async def find_match(read: Snapshot, match_id: str) -> MatchRow | None:
    """One match; None where there is none of that id."""
    row = await read.row("SELECT * FROM matches WHERE match_id = ?", match_id)
    return None if row is None else _match(row)


async def matches_of(read: Snapshot, choir_id: str, first: date) -> tuple[MatchRow, ...]:
    """A choir's matches from a date on, the latest first."""
    rows = await read.rows(
        "SELECT * FROM matches WHERE choir_id = ? AND played_on >= ? ORDER BY number DESC",
        choir_id,
        first.isoformat(),
    )
    return tuple(_match(row) for row in rows)


async def journal_of(read: Snapshot, match_id: str) -> tuple[Call, ...]:
    """All calls of a match in order, those taken back and their undoing among them."""
    rows = await read.rows(
        "SELECT call FROM match_calls WHERE match_id = ? ORDER BY number", match_id
    )
    return tuple(Call.parse(row["call"]) for row in rows)


async def lines_of_match(read: Snapshot, match_id: str) -> tuple[str, ...]:
    """The ids of a match's readings, in the order of turns."""
    rows = await read.rows(
        "SELECT reading_id FROM match_lines WHERE match_id = ? ORDER BY number", match_id
    )
    return tuple(row["reading_id"] for row in rows)


async def add_call(change: Transaction, match_id: str, number: int, call: Call) -> None:
    """Keep a call as number `number` of its journal, from 0."""
    await change.insert("match_calls", {"match_id": match_id, "number": number, "call": str(call)})


async def keep_score(
    change: Transaction, match_id: str, left: int, right: int, *, ended: bool
) -> None:
    """Write where a match stands beside its journal, for the list of a term."""
    values = {"left_points": left, "right_points": right, "ended": ended}
    await change.update("matches", values, {"match_id": match_id})


def _to_json(begun: Begun) -> str:
    return msgspec.json.encode(
        _Setup(
            format=1,
            rules=rules_json(begun.rules),
            heads=[(part.label, part.count) for part in begun.heads],
            rows=[list(part.rows) for part in begun.heads],
            seed=begun.seed,
            turns=begun.turns,
            lines=[(line.measures, line.beats) for line in begun.lines],
        )
    ).decode()


def _match(row: Row) -> MatchRow:
    kept = msgspec.json.decode(row["setup"], type=_Setup)
    begun = Begun(
        rules=rules_kept(kept.rules),
        heads=tuple(
            Heads(label=label, count=count, rows=tuple(kept.rows[at]) if kept.rows else ())
            for at, (label, count) in enumerate(kept.heads)
        ),
        seed=kept.seed,
        turns=kept.turns,
        lines=tuple(LineShape(measures=measures, beats=beats) for measures, beats in kept.lines),
    )
    return MatchRow(
        id=row["match_id"],
        choir_id=row["choir_id"],
        number=row["number"],
        on=date.fromisoformat(row["played_on"]),
        begun=begun,
        ended=bool(row["ended"]),
        left=row["left_points"],
        right=row["right_points"],
    )
