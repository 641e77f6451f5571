"""Readings as rows, with the parts that voices read. A line drawn again stays, as history."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import date
from sqlite3 import Row

from bot.activities.choir import Steps
from bot.activities.reading import DAILY, Origin, Reading, ReadingPart
from bot.music.exercise import Exercise
from bot.music.exercise_json import exercise_from_json, exercise_to_json
from bot.music.pitch import Key
from bot.music.voice import Clef, Voice
from bot.store.database import Snapshot, Transaction


async def add_reading(change: Transaction, reading: Reading) -> None:
    """Make it the reading of its date; the one that was there before stays as history."""
    await change.update(
        "readings",
        {"current": 0},
        {"choir_id": reading.choir_id, "read_on": reading.on.isoformat(), "slot": reading.slot},
    )
    await change.insert(
        "readings",
        {
            "reading_id": reading.id,
            "choir_id": reading.choir_id,
            "read_on": reading.on.isoformat(),
            "slot": reading.slot,
            "draw": reading.draw,
            "current": 1,
            "exercise": exercise_to_json(reading.exercise),
            "fingerprint": reading.exercise.fingerprint(),
            "sequence": reading.steps.sequence,
            "step_pitch": reading.steps.pitch,
            "step_rhythm": reading.steps.rhythm,
            "step_voice": reading.steps.voice,
            "seed": reading.seed,
            "origin": reading.origin,
            "title": reading.title,
            "pinned": int(reading.pinned),
            "focus": ",".join(reading.focus) or None,
        },
    )
    await _add_parts(change, reading)


async def retire_reading(change: Transaction, reading_id: str) -> None:
    """Take a reading off its date; it stays as history, and another can be drawn."""
    await change.update("readings", {"current": 0}, {"reading_id": reading_id})


async def pin_reading(change: Transaction, reading_id: str, *, pinned: bool) -> None:
    """Hold a reading to its date, or let it go again."""
    await change.update("readings", {"pinned": int(pinned)}, {"reading_id": reading_id})


async def replace_parts(change: Transaction, reading: Reading) -> None:
    """Write the parts of a reading anew: other labels, clefs or voices for the same music."""
    await change.delete("reading_parts", {"reading_id": reading.id})
    await _add_parts(change, reading)


async def find_reading(read: Snapshot, reading_id: str) -> Reading | None:
    """One reading, current or not; None where there is none of that id."""
    row = await read.row("SELECT * FROM readings WHERE reading_id = ?", reading_id)
    return None if row is None else (await _readings(read, [row]))[0]


async def current_reading(
    read: Snapshot, choir_id: str, on: date, slot: str = DAILY
) -> Reading | None:
    """The reading of a date, None where none is composed yet."""
    row = await read.row(
        "SELECT * FROM readings WHERE choir_id = ? AND read_on = ? AND slot = ? AND current = 1",
        choir_id,
        on.isoformat(),
        slot,
    )
    return None if row is None else (await _readings(read, [row]))[0]


async def unposted_readings(read: Snapshot, choir_id: str) -> tuple[Reading, ...]:
    """Current daily readings that no surface has begun to post, by date."""
    rows = await read.rows(
        "SELECT * FROM readings WHERE choir_id = ? AND current = 1 AND slot = ? "
        "AND reading_id NOT IN "
        "(SELECT reading_id FROM deliveries WHERE reading_id IS NOT NULL) ORDER BY read_on",
        choir_id,
        DAILY,
    )
    return await _readings(read, rows)


async def posted_readings(
    read: Snapshot, choir_id: str, surface: str, limit: int
) -> tuple[Reading, ...]:
    """The last `limit` readings that are up, or going up, on a surface; oldest first."""
    rows = await read.rows(
        "SELECT readings.* FROM readings JOIN deliveries USING (reading_id) "
        "WHERE readings.choir_id = ? AND surface = ? AND state IN ('claimed', 'sent') "
        "ORDER BY readings.read_on DESC, readings.slot DESC LIMIT ?",
        choir_id,
        surface,
        limit,
    )
    return await _readings(read, rows[::-1])


async def next_draw(read: Snapshot, choir_id: str, on: date, slot: str = DAILY) -> int:
    """How many lines were drawn for a date so far: the number of the next draw."""
    row = await read.row(
        "SELECT coalesce(max(draw), -1) + 1 AS next FROM readings "
        "WHERE choir_id = ? AND read_on = ? AND slot = ?",
        choir_id,
        on.isoformat(),
        slot,
    )
    assert row is not None
    draw: int = row["next"]
    return draw


async def focuses_before(
    read: Snapshot, choir_id: str, on: date, count: int
) -> list[tuple[str, ...]]:
    """To which earlier steps the last daily lines before a date came back, the latest last."""
    rows = await read.rows(
        "SELECT focus FROM readings WHERE choir_id = ? AND slot = ? AND current = 1 "
        "AND read_on < ? ORDER BY read_on DESC LIMIT ?",
        choir_id,
        DAILY,
        on.isoformat(),
        count,
    )
    return [_focus(row["focus"]) for row in reversed(rows)]


async def history(
    read: Snapshot, choir_id: str, known: Mapping[str, Exercise] | None = None
) -> dict[str, Exercise]:
    """Every exercise that a choir was ever given or shown, by fingerprint.

    `known` are exercises by fingerprint that need not be parsed again.
    """
    rows = await read.rows("SELECT DISTINCT fingerprint FROM readings WHERE choir_id = ?", choir_id)
    found: dict[str, Exercise] = {}
    for row in rows:
        fingerprint = row["fingerprint"]
        if known is not None and fingerprint in known:
            found[fingerprint] = known[fingerprint]
            continue
        kept = await read.row(
            "SELECT exercise FROM readings WHERE choir_id = ? AND fingerprint = ?",
            choir_id,
            fingerprint,
        )
        assert kept is not None
        found[fingerprint] = exercise_from_json(kept["exercise"])
    return found


async def readings_of(read: Snapshot, choir_id: str) -> list[dict[str, object]]:
    """Every reading of a choir that is current, by date, as plain values for an export."""
    rows = await read.rows(
        "SELECT read_on, slot, origin, title, exercise FROM readings "
        "WHERE choir_id = ? AND current = 1 ORDER BY read_on, slot",
        choir_id,
    )
    return [
        {
            "on": row["read_on"],
            "slot": row["slot"],
            "origin": row["origin"],
            "title": row["title"],
            "exercise": row["exercise"],
        }
        for row in rows
    ]


async def _add_parts(change: Transaction, reading: Reading) -> None:
    for ordinal, part in enumerate(reading.parts):
        await change.insert(
            "reading_parts",
            {
                "reading_id": reading.id,
                "ordinal": ordinal,
                "voice": part.voice,
                "label": part.label,
                "clef": part.clef,
                "line": part.line,
                "do_octave": part.do_octave,
                "apart_key": part.apart_key.plain,
                "apart_do_octave": part.apart_do_octave,
            },
        )


async def _readings(read: Snapshot, rows: Sequence[Row]) -> tuple[Reading, ...]:
    """Readings in the order of their rows, with all their parts in one question."""
    marks = ", ".join("?" for _ in rows)
    parts = await read.rows(
        f"SELECT * FROM reading_parts WHERE reading_id IN ({marks}) ORDER BY ordinal",  # noqa: S608 - marks only
        *(row["reading_id"] for row in rows),
    )
    of_reading: defaultdict[str, list[ReadingPart]] = defaultdict(list)
    for part in parts:
        of_reading[part["reading_id"]].append(_part(part))
    return tuple(_reading(row, of_reading[row["reading_id"]]) for row in rows)


def _reading(row: Row, parts: Sequence[ReadingPart]) -> Reading:
    return Reading(
        id=row["reading_id"],
        choir_id=row["choir_id"],
        on=date.fromisoformat(row["read_on"]),
        slot=row["slot"],
        draw=row["draw"],
        exercise=exercise_from_json(row["exercise"]),
        parts=tuple(parts),
        steps=Steps(
            sequence=row["sequence"],
            pitch=row["step_pitch"],
            rhythm=row["step_rhythm"],
            voice=row["step_voice"],
        ),
        seed=row["seed"],
        origin=Origin(row["origin"]),
        title=row["title"],
        pinned=bool(row["pinned"]),
        focus=_focus(row["focus"]),
    )


def _part(row: Row) -> ReadingPart:
    return ReadingPart(
        voice=Voice(row["voice"]),
        label=row["label"],
        clef=Clef(row["clef"]),
        line=row["line"],
        do_octave=row["do_octave"],
        apart_key=Key.parse(row["apart_key"]),
        apart_do_octave=row["apart_do_octave"],
    )


def _focus(text: str | None) -> tuple[str, ...]:
    return tuple(text.split(",")) if text else ()
