"""The register of what links a seat with an account elsewhere; only where the school allows it."""

from __future__ import annotations

from bot.privacy.field import Kind, Tables, Terms

_LINK = Terms(
    kind=Kind.SEAT, seen_by="nobody", kept="the term at most",
    deleted_by="/my leave, a new slip, with the seat, the program where no approval holds",
)  # fmt: skip
_CODE = Terms(
    kind=Kind.SEAT, seen_by="the singer alone, once", kept="two days at most; it works for one",
    deleted_by="being used once, a new slip, with the seat, or the program every night",
)  # fmt: skip

LINK_TABLES: Tables = (
    (
        "seat_links",
        _LINK,
        {
            "seat_id": "one account a seat",
            "link_tag": "knows the account again by a keyed tag; its id and name are not kept",
        },
    ),
    (
        "seat_link_codes",
        _CODE,
        {
            "seat_id": "one code a seat",
            "code_tag": "checks the code that links an account once; the code itself is not kept",
            "made_on": "when to delete it; the day, no time",
        },
    ),
)
