"""What a singer says of a day that was read."""

from __future__ import annotations

from enum import StrEnum


class Went(StrEnum):
    """How the reading went, in the singer's own eyes; never a grade."""

    STEADY = "steady"
    BUMPY = "bumpy"
    NOT_YET = "not_yet"
