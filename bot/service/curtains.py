"""The curtain before a choir: where it falls next, that it fell, and what the class held."""

from __future__ import annotations

import secrets
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta
from fractions import Fraction

from bot.activities.calendar import local_day
from bot.activities.curtain import (
    Fall,
    SpanWeek,
    drawn,
    left_after,
    own_span,
    place_at,
    span_weeks,
)
from bot.errors import Refused
from bot.service.choirs import Choirs
from bot.service.clock import Clock
from bot.service.composing import Composing
from bot.store.curtains import add_fall, falls_of, keep_held
from bot.store.database import Database, Snapshot
from bot.store.home_spans import home_weeks

RECENT = timedelta(weeks=2)


@dataclass(frozen=True, slots=True, kw_only=True)
class Fallen:
    """A fall that was written down: its number, and how many beats were left."""

    number: int
    left: int


@dataclass(frozen=True, slots=True, kw_only=True)
class NumberedFall:
    """A fall with the number by which its count is kept."""

    number: int
    fall: Fall


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """How far ahead a choir reads, in beats: now, and week by week."""

    now: int
    counted: bool  # whether anything was counted yet
    weeks: tuple[SpanWeek, ...]


class Curtains:
    """Draws places by chance over the choir's own journal; nothing here is about a seat."""

    def __init__(
        self, database: Database, choirs: Choirs, composing: Composing, clock: Clock
    ) -> None:
        self._database = database
        self._choirs = choirs
        self._composing = composing
        self._clock = clock

    async def place(self, choir_id: str, reading_id: str) -> float:
        """Where the curtain shall fall next, in pulses from the beginning of the line.

        Drawn anew at each call. Refused("curtain.short") for a line without room for it.
        """
        reading = await self._composing.find(reading_id)
        async with self._database.snapshot() as read:
            falls = await falls_of(read, choir_id)
            span = await _own_span(read, choir_id, falls)
        try:
            return float(drawn(reading.exercise, falls, secrets.randbits(62), span).pulses)
        except ValueError as error:
            raise Refused("curtain.short") from error

    async def fell(self, choir_id: str, reading_id: str, pulses: float, *, by_hand: bool) -> Fallen:
        """Write down that the page went `pulses` after the beginning, to a quarter of a pulse.

        Refused("curtain.outside") for a moment at which nothing of the line is left.
        """
        choir = await self._choirs.get(choir_id)
        exercise = (await self._composing.find(reading_id)).exercise
        place = place_at(exercise, Fraction(round(pulses * 4), 4))
        if not 0 <= place.pulses * exercise.metre.pulse < exercise.length:
            raise Refused("curtain.outside")
        fall = Fall(
            on=local_day(self._clock.now(), choir.zone),
            spot=place.spot,
            left=left_after(exercise, place),
            by_hand=by_hand,
        )
        async with self._database.transaction() as change:
            number = await add_fall(change, choir_id, fall)
        return Fallen(number=number, left=fall.left)

    async def held(self, choir_id: str, number: int, beats: int | None) -> None:
        """Keep how many beats the class held, None to take the count back.

        Refused("curtain.unknown"), Refused("curtain.beats") for more than were left.
        """
        await self._choirs.get(choir_id)
        async with self._database.transaction() as change:
            falls = await falls_of(change, choir_id)
            if not 1 <= number <= len(falls):
                raise Refused("curtain.unknown")
            left = falls[number - 1].left
            if beats is not None and not 0 <= beats <= left:
                raise Refused("curtain.beats", left=left)
            await keep_held(change, choir_id, number, beats)

    async def recent(self, choir_id: str) -> tuple[NumberedFall, ...]:
        """The falls of the last two weeks, the newest first: their counts can still be mended."""
        choir = await self._choirs.get(choir_id)
        since = local_day(self._clock.now(), choir.zone) - RECENT
        async with self._database.snapshot() as read:
            falls = await falls_of(read, choir_id)
        return tuple(
            NumberedFall(number=number, fall=fall)
            for number, fall in reversed(list(enumerate(falls, start=1)))
            if fall.on > since
        )

    async def span(self, choir_id: str) -> Span:
        """The choir's span now and over the weeks."""
        await self._choirs.get(choir_id)
        async with self._database.snapshot() as read:
            falls = await falls_of(read, choir_id)
            span = await _own_span(read, choir_id, falls)
        weeks = span_weeks(falls)
        return Span(now=span, counted=bool(weeks), weeks=weeks)


async def _own_span(read: Snapshot, choir_id: str, falls: Sequence[Fall]) -> int:
    return own_span(falls, await home_weeks(read, choir_id))
