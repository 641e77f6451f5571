"""The desk's form for an approval, turned into the sheet's file. It asks; the school decides."""

from __future__ import annotations

import json
import secrets
from collections.abc import Collection, Mapping, Sequence
from datetime import date, timedelta
from enum import StrEnum

from bot.errors import Fault, InputProblems
from bot.privacy.approval import (
    LEAST_IN_CLASS,
    LEAST_OUTSIDE,
    LONGEST_KEPT_DAYS,
    SCHEMA,
    Activity,
    Never,
    Purpose,
    fields_needed,
    read_sheet,
)
from bot.privacy.discord_age import EVERYWHERE_ELSE
from bot.store.discord_links import DiscordLink


class Field(StrEnum):
    """The fields of the form, in its order."""

    SCHOOL = "school"
    COUNTRY = "country"
    CHOIRS = "choirs"
    APPROVER = "approver_role"
    BASIS = "consent_basis"
    FAMILIES_TOLD = "families_told_on"
    APPROVED = "approved_on"
    VALID_FROM = "valid_from"
    TERM_ENDS = "term_ends_on"
    EXPIRES = "expires_on"
    ACTIVITIES = "activities"
    MOST_SEATS = "most_seats"
    LEAST = "least_in_class"
    AFTER_TERM = "after_term"
    TRANSPORT = "transport"
    SURFACES = "surfaces"
    GUILD = "guild_id"
    CHANNELS = "channel_ids"
    LEAST_AGE = "least_age_attested"
    AGE_ATTESTED = "attested_on"
    POLICY = "privacy_policy_url"
    DISK = "disk_encryption_attested"
    RIGHTS = "rights_contact"
    BREACH = "breach_contact"


Form = Mapping[str, Sequence[str]]

FILE = "sheet"
_OFFERED = (Activity.TAPS, Activity.PRACTICE_ROW, Activity.VOTES, Activity.SPAN)
# Where a fault of the file is shown on the form, if the names differ.
_PLACES = {
    "contacts.rights": "rights_contact",
    "contacts.breach": "breach_contact",
    "display.least_in_class": "least_in_class",
    "kept_days.after_term": "after_term",
    "discord": "surfaces",
    **{
        f"discord.{name}": name
        for name in (
            "guild_id",
            "channel_ids",
            "least_age_attested",
            "attested_on",
            "privacy_policy_url",
        )
    },
}
SURFACES = ROOM, DISCORD = "room", "discord"


def offered_activities() -> tuple[Activity, ...]:
    """What can be asked for today."""
    return _OFFERED


def empty_form(
    today: date, choirs: Sequence[str], links: Sequence[DiscordLink] = ()
) -> dict[str, list[str]]:
    """What the form shows first: the least, for half a year; where choirs are linked on Discord."""
    half = today + timedelta(days=180)
    return {
        "school": [""],
        "country": ["US"],
        "choirs": list(choirs),
        "approver_role": ["principal"],
        "consent_basis": ["school_official"],
        "families_told_on": [""],
        "approved_on": [today.isoformat()],
        "valid_from": [today.isoformat()],
        "term_ends_on": [half.isoformat()],
        "expires_on": [half.isoformat()],
        "activities": [Activity.TAPS.value],
        "transport": ["loopback_only"],
        "surfaces": [ROOM],
        "guild_id": sorted({link.guild_id for link in links})[:1],
        "channel_ids": [" ".join(sorted(link.channel_id for link in links))],
        "least_age_attested": [str(EVERYWHERE_ELSE)],
        "attested_on": [""],
        "privacy_policy_url": ["https://"],
        "remembered_devices": [],
        "self_erase": ["yes"],
        "disk_encryption_attested": [],
        "most_seats": ["60"],
        "least_in_class": [str(LEAST_IN_CLASS)],
        "after_term": [str(LONGEST_KEPT_DAYS["after_term"])],
        "rights_contact": [""],
        "breach_contact": [""],
    }


def draft_of(form: Form, choirs: Collection[str], *, demo: bool) -> tuple[str, bytes]:
    """A sheet's id and file from the form; InputProblems by field names, all at once."""
    sheet_id = secrets.token_hex(8)
    tree = _tree(form, sheet_id, demo=demo)
    faults = [
        Fault(place="choirs", problem=f"there is no choir {name}")
        for name in form.get("choirs", ())
        if name not in choirs
    ]
    data = (json.dumps(tree, indent=1, ensure_ascii=False) + "\n").encode()
    try:
        read_sheet(data, FILE)
    except InputProblems as problems:
        faults += [_at_field(fault) for fault in problems.faults]
    if faults:
        raise InputProblems(faults)
    return sheet_id, data


def _tree(form: Form, sheet_id: str, *, demo: bool) -> dict[str, object]:
    wished = set(form.get("activities", ()))
    activities = [each for each in _OFFERED if each.value in wished]
    surfaces = form.get("surfaces", ())
    discord = _discord(form) if DISCORD in surfaces else None
    unknown = sorted(wished - {each.value for each in _OFFERED})
    return {
        "schema": SCHEMA,
        "sheet_id": sheet_id,
        "purpose": (Purpose.DEMO if demo else Purpose.SCHOOL).value,
        "school": _text(form, "school"),
        "country": _text(form, "country").upper(),
        "choirs": list(form.get("choirs", ())),
        "approver_role": _text(form, "approver_role"),
        "consent_basis": _text(form, "consent_basis"),
        **{
            name: _text(form, name)
            for name in (
                "families_told_on",
                "approved_on",
                "valid_from",
                "expires_on",
                "term_ends_on",
            )
        },
        "surfaces": {"room": ROOM in surfaces, "discord": discord is not None},
        "discord": discord,
        "activities": [each.value for each in activities] + unknown,
        "fields": sorted(fields_needed(frozenset(activities), discord=discord is not None)),
        "kept_days": {**LONGEST_KEPT_DAYS, "after_term": _whole(form, "after_term")},
        "display": {
            "least_in_class": _whole(form, "least_in_class"),
            "least_outside": max(LEAST_OUTSIDE, _whole(form, "least_in_class")),
        },
        "never": [each.value for each in Never],
        "transport": _text(form, "transport"),
        "disk_encryption_attested": _ticked(form, "disk_encryption_attested"),
        "remembered_devices": _ticked(form, "remembered_devices"),
        "self_erase": _ticked(form, "self_erase"),
        "most_seats": _whole(form, "most_seats"),
        "contacts": {
            "rights": _text(form, "rights_contact"),
            "breach": _text(form, "breach_contact"),
        },
    }


def _discord(form: Form) -> dict[str, object]:
    return {
        "guild_id": _text(form, "guild_id"),
        "channel_ids": _text(form, "channel_ids").replace(",", " ").split(),
        "least_age_attested": _whole(form, "least_age_attested"),
        "attested_on": _text(form, "attested_on"),
        "privacy_policy_url": _text(form, "privacy_policy_url"),
    }


def _text(form: Form, name: str) -> str:
    values = form.get(name) or ("",)
    return values[-1].strip()


def _whole(form: Form, name: str) -> int:
    """The number of a field; -1, which no field allows, where it is none."""
    text = _text(form, name)
    return int(text) if text.isascii() and text.isdecimal() and len(text) < 6 else -1


def _ticked(form: Form, name: str) -> bool:
    return bool(form.get(name))


def _at_field(fault: Fault) -> Fault:
    key = fault.place.removeprefix(f"{FILE}: ")
    return Fault(place=_PLACES.get(key, key), problem=fault.problem, remedy=fault.remedy)
