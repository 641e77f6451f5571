"""Choirs as rows. Every function works inside the transaction or snapshot that it is given."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from datetime import date, time
from sqlite3 import Row

from bot.activities.calendar import Meeting, Rotation, ShortDay, Weekdays
from bot.activities.choir import Choir, ChoirVoice, Hearing, Presentation, Steps
from bot.music.pitch import Pitch
from bot.music.solfa import Naming, Solfa
from bot.music.tonality import KeyPattern
from bot.music.voice import Clef, Voice, VoiceRange
from bot.store.database import Snapshot, Transaction, Value
from bot.store.page_options import page_columns, page_of


async def all_choirs(read: Snapshot) -> tuple[Choir, ...]:
    """Every choir, in the order in which they were added."""
    rows = await read.rows("SELECT * FROM choirs ORDER BY ordinal")
    return await _choirs(read, rows)


async def find_choir(read: Snapshot, choir_id: str) -> Choir | None:
    """One choir, None where there is none of that id."""
    row = await read.row("SELECT * FROM choirs WHERE choir_id = ?", choir_id)
    return None if row is None else (await _choirs(read, [row]))[0]


async def choir_added_on(read: Snapshot, choir_id: str) -> date:
    """The local date on which a choir was set up; KeyError where there is none of that id."""
    row = await read.row("SELECT added_on FROM choirs WHERE choir_id = ?", choir_id)
    if row is None:
        raise KeyError(choir_id)
    return date.fromisoformat(row["added_on"])


async def zone_of(read: Snapshot, choir_id: str) -> str | None:
    """The time zone of a choir, None where there is none."""
    row = await read.row("SELECT zone FROM choirs WHERE choir_id = ?", choir_id)
    return None if row is None else str(row["zone"])


async def add_choir(change: Transaction, choir: Choir, added_on: date) -> bool:
    """Add a choir after the others; False, and nothing changed, where its id is taken."""
    row = await change.row("SELECT coalesce(max(ordinal), -1) + 1 AS next FROM choirs")
    assert row is not None
    first = {"choir_id": choir.id, "ordinal": row["next"], "added_on": added_on.isoformat()}
    added = await change.insert_once("choirs", first | _columns(choir))
    if added:
        await _add_details(change, choir)
    return added


async def change_choir(change: Transaction, choir: Choir) -> bool:
    """Write a choir over its old self; False where there is none of its id."""
    where = {"choir_id": choir.id}
    if not await change.update("choirs", _columns(choir), where):
        return False
    await change.delete("choir_voices", where)
    await change.delete("choir_days_off", where)
    await change.delete("choir_short_days", where)
    await _add_details(change, choir)
    return True


async def remove_choir(change: Transaction, choir_id: str) -> bool:
    """Delete a choir with all its rows; False where there is none of that id."""
    return await change.delete("choirs", {"choir_id": choir_id}) > 0


def _columns(choir: Choir) -> dict[str, Value]:
    shown, solfa = choir.presentation, choir.presentation.solfa
    return {
        "name": choir.name,
        "sequence": choir.steps.sequence,
        "step_pitch": choir.steps.pitch,
        "step_rhythm": choir.steps.rhythm,
        "step_voice": choir.steps.voice,
        "zone": choir.zone,
        **_meeting_columns(choir.meeting),
        "post_at": choir.post_at.isoformat("minutes"),
        "starts_on": choir.starts_on.isoformat(),
        "naming": solfa.naming,
        "fifth": solfa.fifth,
        "seventh": solfa.seventh,
        "do_based_minor": int(solfa.do_based_minor),
        "key_pattern": shown.key_pattern,
        "a4_hz": shown.a4_hz,
        "tempo_bpm": shown.tempo_bpm,
        "mark_do": int(shown.mark_do),
        "give_pitch": int(shown.give_pitch),
        **page_columns(shown.page),
        "study_s": shown.study_s,
        "measures": choir.measures,
        "key": choir.key,
        "bell_at": None if choir.bell_at is None else choir.bell_at.isoformat("minutes"),
        "hearing": choir.hearing,
    }


def _meeting_columns(meeting: Meeting) -> dict[str, Value]:
    match meeting.pattern:
        case Weekdays(days=days):
            kind, length, anchor = "weekdays", None, None
        case Rotation(length=length, meets_on=days, anchor=first):
            kind, anchor = "rotation", first.isoformat()
    return {
        "meets": kind,
        "meeting_days": ",".join(str(day) for day in sorted(days)),
        "rotation_length": length,
        "rotation_anchor": anchor,
    }


async def _add_details(change: Transaction, choir: Choir) -> None:
    for ordinal, voice in enumerate(choir.voices):
        await change.insert(
            "choir_voices",
            {
                "choir_id": choir.id,
                "ordinal": ordinal,
                "voice": voice.voice,
                "label": voice.label,
                "low": voice.range.low.plain,
                "high": voice.range.high.plain,
                "tessitura_low": voice.range.tessitura_low.plain,
                "tessitura_high": voice.range.tessitura_high.plain,
                "clef": voice.clef,
            },
        )
    for day in sorted(choir.meeting.days_off):
        await change.insert("choir_days_off", {"choir_id": choir.id, "day_on": day.isoformat()})
    for short in sorted(choir.meeting.short_days, key=lambda short: short.on):
        await change.insert(
            "choir_short_days",
            {
                "choir_id": choir.id,
                "day_on": short.on.isoformat(),
                "bell_at": short.bell_at.isoformat("minutes"),
            },
        )


async def _choirs(read: Snapshot, rows: Sequence[Row]) -> tuple[Choir, ...]:
    """Choirs in the order of their rows, with the details of all in three questions."""
    ids = [row["choir_id"] for row in rows]

    async def details(table: str, order: str) -> defaultdict[str, list[Row]]:
        marks = ", ".join("?" for _ in ids)
        sql = f"SELECT * FROM {table} WHERE choir_id IN ({marks}) ORDER BY {order}"  # noqa: S608 - names of ours
        found: defaultdict[str, list[Row]] = defaultdict(list)
        for row in await read.rows(sql, *ids):
            found[row["choir_id"]].append(row)
        return found

    voices = await details("choir_voices", "ordinal")
    off = await details("choir_days_off", "day_on")
    short = await details("choir_short_days", "day_on")
    return tuple(
        _choir(row, voices[row["choir_id"]], off[row["choir_id"]], short[row["choir_id"]])
        for row in rows
    )


def _choir(row: Row, voices: Sequence[Row], off: Sequence[Row], short: Sequence[Row]) -> Choir:
    return Choir(
        id=row["choir_id"],
        name=row["name"],
        voices=tuple(_voice(voice) for voice in voices),
        steps=Steps(
            sequence=row["sequence"],
            pitch=row["step_pitch"],
            rhythm=row["step_rhythm"],
            voice=row["step_voice"],
        ),
        zone=row["zone"],
        meeting=Meeting(
            pattern=_pattern(row),
            days_off=frozenset(date.fromisoformat(day["day_on"]) for day in off),
            short_days=frozenset(_short_day(day) for day in short),
        ),
        post_at=time.fromisoformat(row["post_at"]),
        starts_on=date.fromisoformat(row["starts_on"]),
        presentation=_presentation(row),
        measures=row["measures"],
        key=row["key"],
        bell_at=None if row["bell_at"] is None else time.fromisoformat(row["bell_at"]),
        hearing=Hearing(row["hearing"]),
    )


def _short_day(row: Row) -> ShortDay:
    return ShortDay(
        on=date.fromisoformat(row["day_on"]), bell_at=time.fromisoformat(row["bell_at"])
    )


def _voice(row: Row) -> ChoirVoice:
    limits = VoiceRange(
        low=Pitch.parse(row["low"]),
        high=Pitch.parse(row["high"]),
        tessitura_low=Pitch.parse(row["tessitura_low"]),
        tessitura_high=Pitch.parse(row["tessitura_high"]),
    )
    return ChoirVoice(
        voice=Voice(row["voice"]), label=row["label"], range=limits, clef=Clef(row["clef"])
    )


def _pattern(row: Row) -> Weekdays | Rotation:
    days = frozenset(int(day) for day in row["meeting_days"].split(",") if day)
    if row["meets"] == "weekdays":
        return Weekdays(days=days)
    return Rotation(
        length=row["rotation_length"],
        meets_on=days,
        anchor=date.fromisoformat(row["rotation_anchor"]),
    )


def _presentation(row: Row) -> Presentation:
    return Presentation(
        solfa=Solfa(
            naming=Naming(row["naming"]),
            fifth=row["fifth"],
            seventh=row["seventh"],
            do_based_minor=bool(row["do_based_minor"]),
        ),
        key_pattern=KeyPattern(row["key_pattern"]),
        a4_hz=row["a4_hz"],
        tempo_bpm=row["tempo_bpm"],
        mark_do=bool(row["mark_do"]),
        give_pitch=bool(row["give_pitch"]),
        page=page_of(row),
        study_s=row["study_s"],
    )
