"""Readings: composed for a date, kept before anything is made of them, shown as cards."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum

from bot.service.card import Arrangement, Media, ReadingCard


class UpcomingState(StrEnum):
    """How far a coming reading is."""

    PLANNED = "planned"  # a meeting day; its line is not composed yet
    READY = "ready"  # composed, can still be redrawn
    POSTED = "posted"  # up on a surface; nothing changes it any more
    REFUSED = "refused"  # no line exists for the steps and voices; `summary` says why
    MISSED = "missed"  # the day ended before the program ran


@dataclass(frozen=True, slots=True, kw_only=True)
class Upcoming:
    """One coming meeting day; `at` is the posting time, aware, in the choir's own zone."""

    on: date
    at: datetime
    reading_id: str | None
    title: str
    summary: str
    state: UpcomingState


class Readings:
    """What the desk and the surfaces ask about readings."""

    async def board(self, choir_id: str, limit: int = 20) -> tuple[ReadingCard, ...]:
        """The cards that are up in the room, oldest first."""
        raise NotImplementedError

    async def card(self, reading_id: str) -> ReadingCard:
        """One card; Refused("reading.unknown") where there is none."""
        raise NotImplementedError

    async def media(
        self, reading_id: str, arrangement: Arrangement, part: int, media: Media
    ) -> bytes:
        """Picture or sound of one part; Refused("reading.no_part"), RenderFailed."""
        raise NotImplementedError

    async def upcoming(self, choir_id: str, count: int = 5) -> tuple[Upcoming, ...]:
        """Today's meeting, if there is one, and those after it."""
        raise NotImplementedError

    async def preview(self, choir_id: str, on: date) -> ReadingCard:
        """The card that will be posted on that date; composed now if it was not yet."""
        raise NotImplementedError

    async def redraw(self, choir_id: str, on: date) -> ReadingCard:
        """Another line for a date that is not posted yet; Refused("reading.posted") after."""
        raise NotImplementedError

    async def use_own_music(
        self, choir_id: str, on: date, data: bytes, file: str
    ) -> ReadingCard:
        """The director's own MusicXML for a date; InputProblems lists all that is wrong."""
        raise NotImplementedError

    async def post_now(self, choir_id: str) -> ReadingCard:
        """Put today's line up now; Refused("reading.posted") where it is up already."""
        raise NotImplementedError

    async def musicxml(self, reading_id: str) -> bytes:
        """The reading as MusicXML, one part for each voice."""
        raise NotImplementedError
