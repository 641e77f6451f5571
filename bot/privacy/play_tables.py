"""The register of what the playful readings keep: journals of no seat, ballots until the close."""

from __future__ import annotations

from bot.privacy.field import Kind, Tables, Terms

_PLAYED = Terms(
    kind=Kind.OPERATIONAL, seen_by="director; class where shown",
    kept="until the choir is removed", deleted_by="removing the choir at the desk",
)  # fmt: skip
_BALLOT = Terms(
    kind=Kind.SEAT, seen_by="the singer alone", kept="until the vote closes, 7 days at most",
    deleted_by="the close of the vote; with the seat",
)  # fmt: skip
_SPAN = Terms(
    kind=Kind.SEAT, seen_by="the singer alone", kept="until the week ends, 7 days at most",
    deleted_by="the singer; the program at the week's end, when a class's are made one figure; "
    "with the seat",
)  # fmt: skip
_SPAN_WEEK = Terms(
    kind=Kind.TOTAL, seen_by="director, of five singers or more", kept="365 days at most",
    deleted_by="the program, every night; removing the choir at the desk",
)  # fmt: skip
_WISH = Terms(
    kind=Kind.OPERATIONAL, seen_by="director", kept="until it is made, a minute or so",
    deleted_by="the program, when it is made or cannot be; removing the choir at the desk",
)  # fmt: skip
_PARTNERS = Terms(
    kind=Kind.OPERATIONAL, seen_by="director; class what goes on a day",
    kept="until the choir composes another set",
    deleted_by="the next set; removing the choir at the desk",
)  # fmt: skip
_HOUSE = Terms(
    kind=Kind.CHOIR, seen_by="director", kept="as long as the data folder",
    deleted_by="deleting the data folder",
)  # fmt: skip

PLAY_TABLES: Tables = (
    (
        "story_runs",
        _PLAYED,
        {
            "run_id": "joins rows; random",
            "choir_id": "joins rows",
            "story_id": "which story is told",
            "source": "the story as it stood when the telling began",
            "began_on": "orders the tellings of a choir",
            "ended_on": "one telling at a time",
        },
    ),
    (
        "story_lines",
        _PLAYED,
        {
            "run_id": "joins rows",
            "scene": "the scene in which the line is sung",
            "reading_id": "the line itself, composed before the telling began",
        },
    ),
    (
        "story_events",
        _PLAYED,
        {
            "run_id": "joins rows",
            "number": "order of what happened",
            "kind": "what happened, of a fixed list",
            "event": "its particulars: path, totals as they may be shown; nothing of a seat",
        },
    ),
    (
        "story_ballots",
        _BALLOT,
        {
            "seat_id": "one ballot a seat",
            "run_id": "joins rows",
            "path": "the path voted for, changeable until the close",
        },
    ),
    (
        "makings",
        _WISH,
        {
            "choir_id": "joins rows",
            "kind": "what is made in the background: a story, the lines of a match, partner lines",
            "wish": "what the form asked for, so that a stopped program takes it up again",
        },
    ),
    (
        "partner_sets",
        _PARTNERS,
        {
            "choir_id": "joins rows",
            "set_id": "tells the set that a page shows from a later one; random",
            "partners": "the lines with what sounds together, as they were looked at; no seat",
        },
    ),
    (
        "curtain_falls",
        _PLAYED,
        {
            "choir_id": "joins rows",
            "number": "order of the falls",
            "fell_on": "the week to which the choir's span belongs",
            "measure": "where the page went, so that it goes elsewhere next time",
            "beat": "where the page went, so that it goes elsewhere next time",
            "beats_left": "how many beats were still to be sung",
            "beats_held": "how many of them the class held, as the director counted",
            "by_hand": "whether the director let it fall",
        },
    ),
    (
        "home_spans",
        _SPAN,
        {
            "seat_id": "one number a seat and week",
            "begins": "the week's Monday",
            "beats": "beats held after the page went in the film, as the singer tapped",
        },
    ),
    (
        "home_span_weeks",
        _SPAN_WEEK,
        {
            "choir_id": "joins rows",
            "begins": "the week's Monday",
            "seats": "how many told a number",
            "middle": "the middle of their numbers",
        },
    ),
    (
        "tunes_read",
        _PLAYED,
        {
            "reading_id": "joins rows",
            "choir_id": "joins rows",
            "tune_id": "which tune it is, so that another comes next time",
            "told": "whether its name was told",
        },
    ),
    (
        "tune_switches",
        _HOUSE,
        {
            "tune_id": "which tune",
            "is_on": "whether the director has it on or off",
        },
    ),
)
