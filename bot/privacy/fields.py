"""The register: every column that may be kept, why, who sees it, how long, how it goes.

A column that is not here cannot be written (gate.py), and a test compares this table with the
migrated schema in both directions. Nothing here reads or writes a file.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from bot.privacy.field import PORTABLE, Tables, Terms
from bot.privacy.field import Field as Field
from bot.privacy.field import Kind as Kind
from bot.privacy.link_tables import LINK_TABLES
from bot.privacy.match_tables import MATCH_TABLES
from bot.privacy.play_tables import PLAY_TABLES
from bot.privacy.seat_tables import SEAT_TABLES

_WITH_CHOIR = "until the choir is removed"
_REMOVE_CHOIR = "removing the choir at the desk deletes the rows"
_SETTING = Terms(
    kind=Kind.CHOIR, seen_by="director; class where shown", kept=_WITH_CHOIR,
    deleted_by=_REMOVE_CHOIR,
)  # fmt: skip
_MUSIC = Terms(
    kind=Kind.CONTENT, seen_by="class, family", kept=_WITH_CHOIR, deleted_by=_REMOVE_CHOIR
)
_POSTING = Terms(
    kind=Kind.OPERATIONAL, seen_by="director", kept=_WITH_CHOIR, deleted_by=_REMOVE_CHOIR
)
_MACHINE = Terms(
    kind=Kind.OPERATIONAL, seen_by="director", kept="as long as the data folder",
    deleted_by="deleting the data folder",
)  # fmt: skip
_SECRET = Terms(
    kind=Kind.SECRET, seen_by="nobody", kept="until replaced",
    deleted_by="setting another passphrase, or deleting the data folder",
)  # fmt: skip

_LINK = Terms(
    kind=Kind.CHOIR, seen_by="director", kept=f"{_WITH_CHOIR} or unlinked",
    deleted_by="unlinking or removing the choir at the desk",
)  # fmt: skip
_LINK_CODE = Terms(
    kind=Kind.SECRET, seen_by="nobody", kept="24 hours at most",
    deleted_by="being used once, or running out",
)  # fmt: skip

_CHOIR_TABLES: Tables = (
    (
        "installation",
        _MACHINE,
        {
            "only": "keeps the table to one row",
            "born": "tells a demonstration's data from a school's",
            "since_version": "says which release made the file, for repairs",
        },
    ),
    (
        "choirs",
        _SETTING,
        {
            "choir_id": "joins rows",
            "ordinal": "order in which choirs are listed",
            "added_on": "days before it are not counted as missed",
            "name": "heads the board; a class's name, never a person's",
            "sequence": "order of skills that the choir follows",
            "step_pitch": "where the choir stands in pitch",
            "step_rhythm": "where the choir stands in rhythm",
            "step_voice": "where the choir stands in voices",
            "zone": "dates and times are local to it",
            "meets": "kind of meeting pattern",
            "meeting_days": "weekdays, or days of the cycle",
            "rotation_length": "length of the cycle",
            "rotation_anchor": "a day on which the cycle began",
            "post_at": "when the reading goes up",
            "starts_on": "first day of readings",
            "naming": "how scale degrees are named",
            "fifth": "so or sol",
            "seventh": "ti or si",
            "do_based_minor": "which tonic minor has",
            "key_pattern": "how the key is given",
            "a4_hz": "tuning of sounds",
            "tempo_bpm": "tempo, where the director chose one",
            "mark_do": "whether the page marks do",
            "give_pitch": "whether the starting note is sounded",
            "measures": "length, where the director chose one",
            "key": "key, where the director chose one",
            "bell_at": "when the lesson begins, so that the stage opens on the right choir",
            "hearing": "who opens a line for hearing after the first try",
            "under_notes": "which lines of text stand under the notes",
            "rhythm_names": "rhythm syllables that the choir says",
            "large_print": "whether pages are in large print",
            "one_a_line": "whether each measure has a line of its own",
            "rhythm_only": "whether the page shows the rhythm alone",
            "measure_numbers": "whether measures are numbered",
            "study_s": "seconds of the study clock, where the director set it",
        },
    ),
    (
        "choir_voices",
        _SETTING,
        {
            "choir_id": "joins rows",
            "ordinal": "order from the highest",
            "voice": "kind of voice that the choir has, of nobody in particular",
            "label": "what the class calls the part",
            "low": "lowest note",
            "high": "highest note",
            "tessitura_low": "lowest easy note",
            "tessitura_high": "highest easy note",
            "clef": "clef that the part reads",
        },
    ),
    (
        "range_tests",
        _SETTING,
        {
            "choir_id": "joins rows",
            "voice": "part whose range was tested, of nobody in particular",
            "tested_on": "when, so that the desk reminds of the next test",
            "low": "lowest comfortable note of the part",
            "high": "highest comfortable note of the part",
        },
    ),
    (
        "choir_days_off",
        _SETTING,
        {"choir_id": "joins rows", "day_on": "a day without a meeting"},
    ),
    (
        "choir_short_days",
        _SETTING,
        {
            "choir_id": "joins rows",
            "day_on": "a day on which the school lets out early or opens late",
            "bell_at": "when the lesson begins that day",
        },
    ),
    (
        "readings",
        _MUSIC,
        {
            "reading_id": "joins rows; names pages and files",
            "choir_id": "joins rows",
            "read_on": "the date it is for",
            "slot": "which reading of the day",
            "draw": "counts lines drawn for the same date",
            "current": "whether it is the one for its date, or was drawn again",
            "exercise": "the music itself, as it was shown",
            "fingerprint": "tells a repeat",
            "pinned": "whether the director holds the line to its date",
            "focus": "earlier steps that the line came back to",
            "opened": "whether the director opened the line for hearing",
            "sequence": "order of skills it was composed in",
            "step_pitch": "step it was composed for",
            "step_rhythm": "step it was composed for",
            "step_voice": "step it was composed for",
            "seed": "draws the same line again",
            "origin": "composed here, or brought by the director",
            "title": "name of music that the director brought",
        },
    ),
    (
        "reading_parts",
        _MUSIC,
        {
            "reading_id": "joins rows",
            "ordinal": "order from the highest",
            "voice": "kind of voice that reads this part",
            "label": "what the class calls the part",
            "clef": "clef on the page",
            "line": "which line of the music it reads",
            "do_octave": "octave in which it reads together",
            "apart_key": "key in which it reads alone",
            "apart_do_octave": "octave in which it reads alone",
        },
    ),
    (
        "deliveries",
        _POSTING,
        {
            "choir_id": "posts once",
            "read_on": "posts once",
            "slot": "posts once",
            "surface": "posts once",
            "state": "what became of the posting",
            "reading_id": "which reading it was",
            "nonce": "lets a surface refuse a second copy",
            "message_id": "finds the card again",
            "claimed_at": "decides how to go on after a crash",
            "settled_at": "last posting, on the status page",
        },
    ),
    (
        "desk",
        _SECRET,
        {
            "only": "keeps the table to one row",
            "passphrase_hash": "opens the desk",
        },
    ),
    (
        "stage",
        _SECRET,
        {
            "only": "keeps the table to one row",
            "ticket_key": "lets an open stage go on after a restart, for ten hours at most",
        },
    ),
    (
        "discord_links",
        _LINK,
        {
            "choir_id": "joins rows",
            "guild_id": "the one server in which the choir's readings go up; no person's id",
            "channel_id": "the one channel in which they go up",
            "director_role_id": "the role whose members may use the director's commands",
            "linked_on": "days before it are not counted as missed",
        },
    ),
    (
        "discord_link_codes",
        _LINK_CODE,
        {
            "choir_id": "joins rows",
            "code_hash": "checks the code with which a choir is linked once",
            "expires_at": "ends the code's life",
        },
    ),
    (
        "discord_app",
        _MACHINE,
        {
            "only": "keeps the table to one row",
            "commands_digest": "registers the commands anew only when they changed",
        },
    ),
)

_TABLES: Tables = (*_CHOIR_TABLES, *SEAT_TABLES, *LINK_TABLES, *PLAY_TABLES, *MATCH_TABLES)


def _register() -> Mapping[str, Field]:
    fields = {}
    for table, terms, columns in _TABLES:
        for column, purpose in columns.items():
            field = Field(
                table=table,
                column=column,
                purpose=purpose,
                kind=terms.kind,
                seen_by=terms.seen_by,
                kept=terms.kept,
                deleted_by=terms.deleted_by,
            )
            fields[field.name] = field
    return MappingProxyType(fields)


REGISTER: Mapping[str, Field] = _register()


def tables() -> tuple[str, ...]:
    """Every registered table, in the order of the register."""
    return tuple(table for table, _, _ in _TABLES)


def portable(table: str) -> bool:
    """Whether a whole table may go into a portable backup: nothing secret, nothing of a seat."""
    return all(field.kind in PORTABLE for field in REGISTER.values() if field.table == table)


def seat_fields(table: str) -> tuple[str, ...]:
    """The `table.column` names of a table's fields about seats."""
    return tuple(
        name for name, field in REGISTER.items() if field.table == table and field.kind is Kind.SEAT
    )
