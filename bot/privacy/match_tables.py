"""The register of matches and the plan: pages of a folder and days of a class, never a singer."""

from __future__ import annotations

from bot.privacy.field import Kind, Tables, Terms

_MATCH = Terms(
    kind=Kind.TOTAL, seen_by="class", kept="until the choir is removed",
    deleted_by="removing the choir at the desk deletes the rows",
)  # fmt: skip
_RULES = Terms(
    kind=Kind.CHOIR, seen_by="class", kept="until the desk goes back to the defaults",
    deleted_by="going back to the defaults, or removing the choir at the desk, deletes the row",
)  # fmt: skip
_PLAN = Terms(
    kind=Kind.CHOIR, seen_by="director", kept="until the choir is removed",
    deleted_by="removing the choir at the desk deletes the rows",
)  # fmt: skip

MATCH_TABLES: Tables = (
    (
        "matches",
        _MATCH,
        {
            "match_id": "joins rows",
            "choir_id": "joins rows",
            "number": "order of a choir's matches",
            "played_on": "the day it was played; no time",
            "setup": "rules, heads of each part and how many turns; draws the same sides again",
            "ended": "whether it was played to its end",
            "left_points": "the left page's score",
            "right_points": "the right page's score",
        },
    ),
    (
        "match_lines",
        _MATCH,
        {
            "match_id": "joins rows",
            "number": "which turn read it; the last one was read by both",
            "reading_id": "joins rows",
        },
    ),
    (
        "match_calls",
        _MATCH,
        {
            "match_id": "joins rows",
            "number": "order of the calls",
            "call": "what was called: a verdict, a place, a number of throws; never by whom",
        },
    ),
    (
        "match_cards",
        _MATCH,
        {
            "match_id": "joins rows",
            "surface": "where the card of the score is up",
            "told": "what it said last: the turn and both pages' points",
        },
    ),
    (
        "match_rules",
        _RULES,
        {
            "choir_id": "joins rows",
            "rules": "turns, study, points, throws, names of the pages: what the choir plays by",
        },
    ),
    (
        "plan_days",
        _PLAN,
        {
            "choir_id": "joins rows",
            "plan_on": "a meeting day",
            "kind": "what it reads: a card or something playful",
            "read_as": "what it was read as on the stage",
        },
    ),
)
