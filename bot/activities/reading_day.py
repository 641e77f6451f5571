r"""What becomes of one reading day on one surface: planned, composed, claimed, then settled.

    planned -> composed -> claimed -> sent
                               \-> unsure -> sent     nobody can tell whether the card arrived
    planned, composed, claimed, unsure -> missed       the day ended, and the card is not there

Pure: `apply` gives the next state or refuses, `announce` says what has to be done about a change,
`next_move` decides what a moment asks for, after a crash too.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from enum import StrEnum
from typing import assert_never

from bot.activities.reading import reading_key
from bot.errors import Refused

# A surface refuses a second copy of a nonce only for "the past few minutes"; two are safe.
YOUNG = timedelta(minutes=2)
PATIENCE = timedelta(minutes=10)  # for a surface whose history cannot be read
_NONCE_LENGTH = 25  # characters; the longest that Discord takes


class Phase(StrEnum):
    """Where a reading day stands."""

    PLANNED = "planned"
    COMPOSED = "composed"
    CLAIMED = "claimed"
    SENT = "sent"
    UNSURE = "unsure"
    MISSED = "missed"


SETTLED = frozenset({Phase.SENT, Phase.UNSURE, Phase.MISSED})


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingDay:
    """One day of one choir on one surface. Moments are aware and in UTC."""

    choir_id: str
    on: date
    slot: str
    surface: str
    phase: Phase = Phase.PLANNED
    reading_id: str | None = None
    message_id: str | None = None
    claimed_at: datetime | None = None
    settled_at: datetime | None = None

    @property
    def key(self) -> str:
        """Choir, local date and slot in one string."""
        return reading_key(self.choir_id, self.on, self.slot)

    @property
    def nonce(self) -> str:
        """25 characters made from key and surface, the same on every try."""
        text = f"{self.key}.{self.surface}"
        return hashlib.sha256(text.encode()).hexdigest()[:_NONCE_LENGTH]


@dataclass(frozen=True, slots=True, kw_only=True)
class Composed:
    """A line is ready; a later one takes its place until the day is claimed."""

    reading_id: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Claimed:
    """The posting begins; from here the line is frozen."""

    at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Arrived:
    """The card is up on the surface."""

    message_id: str
    at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Doubted:
    """It cannot be found out whether the card arrived."""

    at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class DayEnded:
    """The choir's local day is over, and its card is known not to be up."""

    at: datetime


Event = Composed | Claimed | Arrived | Doubted | DayEnded


def apply(day: ReadingDay, event: Event) -> ReadingDay:
    """The state after an event; Refused("reading.out_of_order") where it does not belong."""
    phase = day.phase
    match event:
        case Composed(reading_id=reading_id) if phase in (Phase.PLANNED, Phase.COMPOSED):
            return replace(day, phase=Phase.COMPOSED, reading_id=reading_id)
        case Claimed(at=at) if phase is Phase.COMPOSED:
            return replace(day, phase=Phase.CLAIMED, claimed_at=at)
        case Arrived(message_id=message_id, at=at) if phase in (Phase.CLAIMED, Phase.UNSURE):
            return replace(day, phase=Phase.SENT, message_id=message_id, settled_at=at)
        case Doubted(at=at) if phase is Phase.CLAIMED:
            return replace(day, phase=Phase.UNSURE, settled_at=at)
        case DayEnded(at=at) if phase not in (Phase.SENT, Phase.MISSED):
            return replace(day, phase=Phase.MISSED, reading_id=None, claimed_at=None, settled_at=at)
        case Composed() | Claimed() | Arrived() | Doubted() | DayEnded():
            raise Refused("reading.out_of_order", event=type(event).__name__, phase=phase)
    assert_never(event)


class Effect(StrEnum):
    """What a change asks of the world."""

    SEND = "send"
    TELL_DIRECTOR = "tell director"


def announce(before: ReadingDay, after: ReadingDay) -> tuple[Effect, ...]:
    """What has to be done because the state changed; nothing for a state that did not."""
    if before == after:
        return ()
    match after.phase:
        case Phase.CLAIMED:
            return (Effect.SEND,)
        case Phase.UNSURE | Phase.MISSED:
            return (Effect.TELL_DIRECTOR,)
        case Phase.PLANNED | Phase.COMPOSED | Phase.SENT:
            return ()
    assert_never(after.phase)


class Move(StrEnum):
    """What a moment asks for."""

    WAIT = "wait"  # not due yet
    CLAIM = "claim"  # due: compose if need be, claim, send
    SEND_AGAIN = "send again"  # claimed a moment ago: the nonce keeps it single
    LOOK_FIRST = "look first"  # claimed long ago, or unsure: the surface may have it
    MISS = "miss"  # the day is over
    NOTHING = "nothing"  # settled


def next_move(day: ReadingDay, now: datetime, due: datetime, ends: datetime) -> Move:
    """What to do about a day now, given when it is due and when the choir's day ends.

    A laptop opened late still posts until the day ends, and an unsure day is looked for until
    then. A claim from the future means that the clock was set back: its age is unknown, so it
    counts as old.
    """
    match day.phase:
        case Phase.SENT | Phase.MISSED:
            return Move.NOTHING
        case Phase.UNSURE:
            return Move.LOOK_FIRST if now < ends else Move.NOTHING
        case Phase.CLAIMED:
            return Move.SEND_AGAIN if _age_within(day, now, YOUNG) else Move.LOOK_FIRST
        case Phase.PLANNED | Phase.COMPOSED:
            if now >= ends:
                return Move.MISS
            return Move.CLAIM if now >= due else Move.WAIT
    assert_never(day.phase)


def in_doubt(day: ReadingDay, now: datetime, ends: datetime) -> bool:
    """Whether a claimed day that cannot be looked for is to be called unsure by now.

    A surface that is only away for a moment gets some minutes to come back.
    """
    return now >= ends or not _age_within(day, now, PATIENCE)


def _age_within(day: ReadingDay, now: datetime, limit: timedelta) -> bool:
    assert day.claimed_at is not None
    return timedelta(0) <= now - day.claimed_at < limit
