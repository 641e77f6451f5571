"""What a singer says of a day that was read, and when a line may be heard."""

from __future__ import annotations

from enum import StrEnum

from bot.activities.choir import Hearing


class Went(StrEnum):
    """How the reading went, in the singer's own eyes; never a grade."""

    STEADY = "steady"
    BUMPY = "bumpy"
    NOT_YET = "not_yet"


def may_hear(hearing: Hearing, *, opened: bool, tried: bool) -> bool:
    """Whether a line may be sounded: only after a first try, and only as the director allows.

    `opened`: the director has opened it, once the choir had sung it. `tried`: this singer has said
    that they read it.
    """
    match hearing:
        case Hearing.NEVER:
            return False
        case Hearing.DIRECTOR:
            return opened
        case Hearing.TRY:
            return opened or tried
