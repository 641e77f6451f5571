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
