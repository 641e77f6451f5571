"""Approval sheets for tests to change what they are about."""

import json
from typing import Any

from bot.privacy.approval import Activity, fields_needed

ALL = frozenset({Activity.TAPS, Activity.PRACTICE_ROW})


def a_sheet(*choirs: str, activities: frozenset[Activity] = ALL, **changes: Any) -> dict[str, Any]:
    """A valid sheet for autumn 2026 as a tree; with terms for `discord` it allows that too."""
    discord = changes.get("discord")
    tree = {
        "schema": 1,
        "sheet_id": "sheet-1",
        "purpose": "school",
        "school": "Lindenfield Middle School",
        "country": "US",
        "choirs": list(choirs) or ["choir-1"],
        "approver_role": "principal",
        "consent_basis": "school_official",
        "families_told_on": "2026-08-25",
        "approved_on": "2026-08-30",
        "valid_from": "2026-09-01",
        "expires_on": "2027-01-31",
        "term_ends_on": "2027-01-29",
        "surfaces": {"room": True, "discord": discord is not None},
        "discord": None,
        "activities": sorted(activities),
        "fields": sorted(fields_needed(activities, discord=discord is not None)),
        "kept_days": {
            "taps": 14,
            "ballots": 7,
            "after_term": 30,
            "totals": 365,
            "audit": 365,
            "backup": 7,
        },
        "display": {"least_in_class": 5, "least_outside": 10},
        "never": ["names", "recordings", "ranking_of_singers", "grades"],
        "transport": "loopback_only",
        "disk_encryption_attested": True,
        "remembered_devices": False,
        "self_erase": True,
        "most_seats": 60,
        "contacts": {"rights": "the school office", "breach": "the principal"},
    }
    return {**tree, **changes}


def written(tree: dict[str, Any]) -> bytes:
    """The bytes of a sheet."""
    return json.dumps(tree, indent=1).encode()
