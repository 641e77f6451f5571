"""The approval sheet: what a school signed, read strictly. What it does not allow does not happen.

A sheet is a JSON file of schema 1. An unknown key, a missing one, a bad date, another version: no
sheet. It counts once the short hash of its exact bytes was typed in from the signed print, so any
edit afterwards makes it a draft again. This is a record of a decision and no legal advice.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from bot.errors import Fault, InputProblems
from bot.privacy.discord_age import least_age_on_discord
from bot.privacy.fields import REGISTER, Kind, seat_fields
from bot.privacy.sheet_reader import SheetReader

SCHEMA = 1
LONGEST_DAYS = 365
SHORT_HASH = 16  # hex digits, as they stand on the signed print
LIMIT_BYTES = 64 * 1024
MOST_SEATS = 400
LEAST_IN_CLASS, LEAST_OUTSIDE = 5, 10  # display floors of the register; a sheet may only raise them
_ID = re.compile("[0-9]{1,20}")
SEAT_FIELDS = frozenset(name for name, field in REGISTER.items() if field.kind is Kind.SEAT)
LONGEST_KEPT_DAYS = {
    "taps": 14, "ballots": 7, "after_term": 30, "totals": 365, "audit": 365, "backup": 7,
}  # fmt: skip
_WEEK_DAYS = 7


class Purpose(StrEnum):
    """What a sheet is for; a demonstration's counts in demonstration data only."""

    SCHOOL = "school"
    DEMO = "demo"


class Approver(StrEnum):
    """Who may approve: never the teacher alone."""

    PRINCIPAL = "principal"
    PRIVACY_OFFICER = "privacy_officer"
    IT_DIRECTOR = "it_director"
    DISTRICT_OFFICER = "district_officer"


class Transport(StrEnum):
    """How singers' devices reach the room."""

    LOOPBACK = "loopback_only"
    TLS = "tls"
    PLAIN_HTTP = "plain_http_acknowledged"


class Activity(StrEnum):
    """What singers may do from a seat."""

    TAPS = "taps"
    PRACTICE_ROW = "practice_row"
    VOTES = "votes"
    SPAN = "span"


class Basis(StrEnum):
    """On what ground the school lets the data be kept; the school answers for it."""

    SCHOOL_OFFICIAL = "school_official"
    PARENT_CONSENT = "parent_consent"
    PUBLIC_TASK = "public_task"


class Never(StrEnum):
    """What no sheet of this schema can allow. Each stands on it, so that it is signed too."""

    NAMES = "names"
    RECORDINGS = "recordings"
    RANKING = "ranking_of_singers"
    GRADES = "grades"


# The tables whose fields an activity writes; every seat needs the first ones.
SEATING = ("seats", "seat_codes", "seat_sessions")
LINKING = ("seat_links", "seat_link_codes")  # as well, where the class meets on Discord
TABLES_OF: Mapping[Activity, tuple[str, ...]] = {
    Activity.TAPS: ("taps", "read_days"),
    Activity.PRACTICE_ROW: ("read_days", "week_counts"),
    Activity.VOTES: ("story_ballots",),
    Activity.SPAN: ("home_spans",),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class DiscordTerms:
    """What was attested for a class that meets on Discord."""

    guild_id: str
    channel_ids: tuple[str, ...]
    least_age_attested: int
    attested_on: date
    privacy_policy_url: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """One valid sheet. `choirs` are choir ids; `fields` are `table.column` names of seat data.

    Dates are local to each choir. `kept_days` says how long at most, by the names of
    LONGEST_KEPT_DAYS.
    """

    sheet_id: str
    purpose: Purpose
    school: str
    country: str
    choirs: frozenset[str]
    approver: Approver
    basis: Basis
    families_told_on: date
    approved_on: date
    valid_from: date
    expires_on: date
    term_ends_on: date
    room: bool
    discord: DiscordTerms | None
    activities: frozenset[Activity]
    fields: frozenset[str]
    kept_days: Mapping[str, int]
    least_in_class: int
    least_outside: int
    transport: Transport
    remembered_devices: bool
    self_erase: bool
    most_seats: int
    rights_contact: str
    breach_contact: str

    @property
    def meets(self) -> bool:
        """Whether there is any place for seats; a later sheet without one takes them back."""
        return self.room or self.discord is not None

    def covers(self, choir_id: str, today: date) -> bool:
        """Whether the sheet holds for a choir on a local date; the last day still counts."""
        return choir_id in self.choirs and self.valid_from <= today <= self.expires_on


def short_hash(data: bytes) -> str:
    """The first 16 hex digits of the file's SHA-256, as printed on the form."""
    return hashlib.sha256(data).hexdigest()[:SHORT_HASH]


def fields_needed(activities: frozenset[Activity], *, discord: bool = False) -> frozenset[str]:
    """The fields about seats that these activities write, seats themselves included."""
    tables = {*SEATING, *(table for each in activities for table in TABLES_OF[each])}
    tables |= set(LINKING) if discord else set()
    return frozenset(name for table in tables for name in seat_fields(table))


def read_sheet(data: bytes, file: str) -> Sheet:
    """Read a sheet; InputProblems lists every fault by its key."""
    if len(data) > LIMIT_BYTES:
        raise InputProblems([Fault(place=file, problem=f"larger than {LIMIT_BYTES} bytes")])
    try:
        tree = json.loads(data.decode("utf-8"), object_pairs_hook=_no_key_twice)
    except (UnicodeDecodeError, ValueError, RecursionError) as error:
        raise InputProblems([Fault(place=file, problem=f"no JSON: {error}")]) from error
    if not isinstance(tree, dict):
        raise InputProblems([Fault(place=file, problem="not one JSON object")])
    reader = SheetReader(tree, file)
    sheet = _sheet(reader)
    _check_dates(sheet, reader)
    _check_discord(sheet, reader)
    _check_activities(sheet, reader)
    reader.close()
    return sheet


def _no_key_twice(pairs: list[tuple[str, object]]) -> dict[str, object]:
    tree = dict(pairs)
    if len(tree) < len(pairs):
        raise ValueError("a key stands twice")
    return tree


def _sheet(reader: SheetReader) -> Sheet:
    if reader.whole("schema", least=0, most=10**6) != SCHEMA:
        reader.fault("schema", f"another version: this release reads {SCHEMA}")
    surfaces, kept = reader.part("surfaces"), reader.part("kept_days")
    display, contacts = reader.part("display"), reader.part("contacts")
    discord = reader.optional_part("discord")
    room = surfaces.truth("room")
    if set(reader.some_of("never", Never)) != set(Never):
        reader.fault("never", "something is left out", f"all of {', '.join(Never)}")
    if surfaces.truth("discord") != (discord is not None):
        reader.fault("discord", "it stands here exactly when surfaces.discord is true")
    return Sheet(
        sheet_id=reader.text("sheet_id", most=64),
        purpose=reader.one_of("purpose", Purpose, Purpose.SCHOOL),
        school=reader.text("school", most=120),
        country=reader.country("country"),
        choirs=frozenset(reader.texts("choirs", most=64)),
        approver=reader.one_of("approver_role", Approver, Approver.PRINCIPAL),
        basis=reader.one_of("consent_basis", Basis, Basis.SCHOOL_OFFICIAL),
        families_told_on=reader.day("families_told_on"),
        approved_on=reader.day("approved_on"),
        valid_from=reader.day("valid_from"),
        expires_on=reader.day("expires_on"),
        term_ends_on=reader.day("term_ends_on"),
        room=room,
        discord=None if discord is None else _discord(discord),
        activities=frozenset(reader.some_of("activities", Activity)),
        fields=_fields(reader),
        kept_days={name: kept.whole(name, 0, most) for name, most in LONGEST_KEPT_DAYS.items()},
        least_in_class=display.whole("least_in_class", LEAST_IN_CLASS, MOST_SEATS),
        least_outside=display.whole("least_outside", LEAST_OUTSIDE, MOST_SEATS),
        transport=reader.one_of("transport", Transport, Transport.LOOPBACK),
        remembered_devices=reader.truth("remembered_devices"),
        self_erase=reader.truth("self_erase"),
        most_seats=reader.whole("most_seats", 1, MOST_SEATS),
        rights_contact=contacts.text("rights", most=200),
        breach_contact=contacts.text("breach", most=200),
    )


def _fields(reader: SheetReader) -> frozenset[str]:
    names = frozenset(reader.texts("fields", most=64))
    for name in sorted(names - SEAT_FIELDS):
        reader.fault("fields", f"{name} is no field about seats", "a name from the register")
    return names


def _discord(reader: SheetReader) -> DiscordTerms:
    return DiscordTerms(
        guild_id=reader.digits("guild_id"),
        channel_ids=tuple(reader.texts("channel_ids", most=32)),
        least_age_attested=reader.whole("least_age_attested", 13, 21),
        attested_on=reader.day("attested_on"),
        privacy_policy_url=reader.text("privacy_policy_url", most=300),
    )


def _check_dates(sheet: Sheet, reader: SheetReader) -> None:
    if sheet.expires_on < sheet.valid_from:
        reader.fault("expires_on", "it lies before valid_from")
    if (sheet.expires_on - sheet.valid_from).days > LONGEST_DAYS:
        reader.fault("expires_on", f"more than {LONGEST_DAYS} days after valid_from")
    if sheet.approved_on > sheet.valid_from:
        reader.fault("valid_from", "it lies before approved_on")
    if not sheet.valid_from <= sheet.term_ends_on <= sheet.expires_on:
        reader.fault("term_ends_on", "it has to lie between valid_from and expires_on")
    if sheet.families_told_on > sheet.valid_from:
        reader.fault("families_told_on", "families are told before valid_from")


def _check_activities(sheet: Sheet, reader: SheetReader) -> None:
    needed = fields_needed(sheet.activities, discord=sheet.discord is not None)
    for name in sorted(needed - sheet.fields):
        reader.fault("fields", f"{name} is left out, and what is allowed needs it")
    if Activity.SPAN in sheet.activities and sheet.kept_days["taps"] < _WEEK_DAYS:
        remedy = f"{_WEEK_DAYS} or more"
        reader.fault("kept_days.taps", "a span can be changed until the week ends", remedy)
    if Activity.PRACTICE_ROW not in sheet.activities:
        return
    if Activity.TAPS not in sheet.activities:
        reader.fault("activities", "a practice row is made of taps", "taps as well")
    if sheet.kept_days["taps"] < LONGEST_KEPT_DAYS["taps"]:
        remedy = str(LONGEST_KEPT_DAYS["taps"])
        reader.fault("kept_days.taps", "a practice row folds whole weeks", remedy)


def _check_discord(sheet: Sheet, reader: SheetReader) -> None:
    encrypted, terms = reader.truth("disk_encryption_attested"), sheet.discord
    if terms is None:
        return
    if not encrypted:
        reader.fault("disk_encryption_attested", "Discord asks for it", "true")
    if sheet.purpose is Purpose.DEMO:
        reader.fault("discord", "invented data never go to Discord", "null")
    if terms.least_age_attested < (least := least_age_on_discord(sheet.country)):
        place, problem = "discord.least_age_attested", f"in {sheet.country} Discord asks for more"
        reader.fault(place, problem, f"{least} or more")
    if terms.attested_on > sheet.valid_from:
        reader.fault("discord.attested_on", "the age is attested before valid_from")
    if not terms.privacy_policy_url.startswith("https://"):
        reader.fault("discord.privacy_policy_url", "it starts with https://")
    if not all(_ID.fullmatch(one) for one in terms.channel_ids):
        reader.fault("discord.channel_ids", "an id is decimal digits")
