"""The ways in which one line can be read. The page stays the day's own; what is sung differs."""

from __future__ import annotations

from enum import StrEnum


class Way(StrEnum):
    """A way to read the day's line, in the order in which the stage offers them."""

    PLAIN = "plain"
    CURTAIN = "curtain"  # the page goes away and the choir sings on
    RETROGRADE = "retrograde"  # the same page from the right
    RHYTHM_ONLY = "rhythm-only"
    ONLY_DO = "only-do"  # only the do's aloud
    ECHO_HALVES = "echo-halves"
    HIDDEN_MEASURES = "hidden-measures"  # some measures are covered while it is sung
    LINE_BY_LINE = "line-by-line"  # each of several lines by everybody, then all at once


def ways_for(lines: int) -> tuple[Way, ...]:
    """The ways in which music of so many lines can be read."""
    return tuple(way for way in Way if lines > 1 or way is not Way.LINE_BY_LINE)
