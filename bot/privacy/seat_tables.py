"""The register of what an approval lets the program keep, and of the approval itself."""

from __future__ import annotations

from bot.privacy.field import Kind, Tables, Terms

_SHEET = Terms(
    kind=Kind.OPERATIONAL, seen_by="director, school", kept="until taken away at the desk",
    deleted_by="taking the sheet away at the desk",
)  # fmt: skip
_CLOCK = Terms(
    kind=Kind.OPERATIONAL, seen_by="nobody", kept="until the next day",
    deleted_by="the program every day",
)  # fmt: skip
_AUDIT = Terms(
    kind=Kind.OPERATIONAL, seen_by="director, school", kept="365 days at most",
    deleted_by="the program, every night",
)  # fmt: skip
_GIVEN = Terms(
    kind=Kind.CHOIR, seen_by="class", kept="until the choir is removed",
    deleted_by="taking the rest back, or removing the choir, at the desk",
)  # fmt: skip
_COUNTS = Terms(
    kind=Kind.TOTAL, seen_by="director, in groups of five or more",
    kept="365 days at most, or as the approval says",
    deleted_by="the program, every night; removing the choir at the desk",
)  # fmt: skip
_SEAT = Terms(
    kind=Kind.SEAT, seen_by="director: the number only",
    kept="the term and 30 days, or as the approval says",
    deleted_by="'Forget my seat', the desk, or the program after the term",
)  # fmt: skip
_SEAT_DOOR = Terms(
    kind=Kind.SEAT, seen_by="nobody", kept="the term at most",
    deleted_by="a new slip, with the seat, or the program at the term's end",
)  # fmt: skip
_SEAT_VISIT = Terms(
    kind=Kind.SEAT, seen_by="nobody",
    kept="the day; on a device that is remembered, the term at most",
    deleted_by="leaving the seat, a new slip, with the seat, or the program every night",
)  # fmt: skip
_SEAT_TAP = Terms(
    kind=Kind.SEAT, seen_by="the singer alone", kept="until midnight",
    deleted_by="the program at midnight, when taps become counts of the class; with the seat",
)  # fmt: skip
_SEAT_DAYS = Terms(
    kind=Kind.SEAT, seen_by="the singer alone",
    kept="14 days at most; three where no practice row is kept",
    deleted_by="the program every night; with the seat",
)  # fmt: skip
_SEAT_WEEKS = Terms(
    kind=Kind.SEAT, seen_by="the singer alone",
    kept="the term and 30 days, or as the approval says", deleted_by="with the seat",
)  # fmt: skip

SEAT_TABLES: Tables = (
    (
        "approval_sheets",
        _SHEET,
        {
            "sheet_id": "tells sheets apart",
            "file": "the sheet as it was printed for signature",
            "confirmed_hash": "the short hash typed in from the signed print",
        },
    ),
    (
        "clock_seen",
        _CLOCK,
        {
            "only": "keeps the table to one row",
            "seen_on": "a clock set back by days is noticed, and no sheet counts until it is right",
        },
    ),
    (
        "audit",
        _AUDIT,
        {
            "sequence": "order of what was done",
            "done_on": "the day; no time",
            "role": "whether the director or the program did it",
            "action": "what was done, of a fixed list",
            "amount": "how many it was done to",
            "sheet": "short hash of the approval that held",
            "chain": "shows later editing of the list",
        },
    ),
    (
        "given_rests",
        _GIVEN,
        {"choir_id": "joins rows", "rest_on": "a day of rest that the director gave the class"},
    ),
    (
        "class_counts",
        _COUNTS,
        {
            "choir_id": "joins rows",
            "read_on": "the day of the line",
            "went": "steady, bumpy or not yet",
            "amount": "how many singers said so",
        },
    ),
    (
        "seats",
        _SEAT,
        {
            "seat_id": "joins rows; random",
            "choir_id": "joins rows",
            "seat_no": "the number on the slip; the school's own list says whose it is",
            "made_on": "days before it are not offered to this seat",
        },
    ),
    (
        "seat_codes",
        _SEAT_DOOR,
        {
            "seat_id": "joins rows",
            "code_tag": "checks the code on a slip; the code itself is not kept",
        },
    ),
    (
        "seat_sessions",
        _SEAT_VISIT,
        {
            "seat_id": "one device at a time",
            "token_hash": "knows the device again; the token itself is not kept",
            "opened_on": "ends the visit with its day",
            "remembered": "whether the device stays signed in for the term",
        },
    ),
    (
        "taps",
        _SEAT_TAP,
        {
            "seat_id": "once a day",
            "read_on": "the day of the line",
            "tapped_on": "folded at that day's midnight",
            "went": "steady, bumpy or not yet, for the counts of the class",
        },
    ),
    (
        "read_days",
        _SEAT_DAYS,
        {
            "seat_id": "joins rows",
            "read_on": "once a day, up to three days back; a note in the practice row",
        },
    ),
    (
        "week_counts",
        _SEAT_WEEKS,
        {
            "seat_id": "joins rows",
            "begins": "the week's Monday",
            "offered": "days with a line in that week",
            "days_read": "days of it that were read",
        },
    ),
)
