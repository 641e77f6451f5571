"""The curtain before a choir: where it falls next, that it fell, and what the class held."""

from __future__ import annotations

import secrets
from dataclasses import dataclass
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
from bot.store.database import Database


@dataclass(frozen=True, slots=True, kw_only=True)
class Fallen:
    """A fall that was written down: its number, and how many beats were left."""

    number: int
    left: int


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
        try:
            return float(drawn(reading.exercise, falls, secrets.randbits(62)).pulses)
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

    async def held(self, choir_id: str, number: int, beats: int) -> None:
        """Keep how many beats the class held; Refused("curtain.beats") for more than were left."""
        await self._choirs.get(choir_id)
        async with self._database.transaction() as change:
            falls = await falls_of(change, choir_id)
            if not 1 <= number <= len(falls):
                raise Refused("curtain.unknown")
            left = falls[number - 1].left
            if not 0 <= beats <= left:
                raise Refused("curtain.beats", left=left)
            await keep_held(change, choir_id, number, beats)

    async def span(self, choir_id: str) -> Span:
        """The choir's span now and over the weeks."""
        await self._choirs.get(choir_id)
        async with self._database.snapshot() as read:
            falls = await falls_of(read, choir_id)
        weeks = span_weeks(falls)
        return Span(now=own_span(falls), counted=bool(weeks), weeks=weeks)
