"""The line of a date: composed once, kept before any media, never an unasked repeat."""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import date
from functools import partial

from bot.activities.choir import Choir, Steps
from bot.activities.reading import DAILY, Origin, Reading
from bot.activities.rotation import Kind
from bot.errors import NoExercise, Refused
from bot.music.exercise import Exercise
from bot.service.companion_words import companion_words
from bot.service.composed import compose_reading, new_reading_id
from bot.service.content import Content
from bot.service.part_tables import PartTables
from bot.service.placing import place_own
from bot.store.choirs import find_choir
from bot.store.database import Database, Snapshot
from bot.store.deliveries import begun
from bot.store.plans import plan_between
from bot.store.readings import (
    add_reading,
    current_reading,
    find_reading,
    history,
    next_draw,
    pin_reading,
)

_TRIES = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class _Draw:
    """What a line is made from; a draw is kept only if this still holds when it is done."""

    choir: Choir
    number: int
    current: Reading | None
    seen: tuple[Exercise, ...]
    focus: Callable[[], tuple[str, ...]]
    back_too: bool  # whether the day is planned to be read from the right


# What tells to which earlier steps a choir's line of a date comes back.
Focusing = Callable[[Snapshot, Choir, date], Awaitable[Callable[[], tuple[str, ...]]]]


async def _no_focus(_read: Snapshot, _choir: Choir, _on: date) -> Callable[[], tuple[str, ...]]:
    return tuple


class Composing:
    """Composes one line at a time, off the event loop; whoever composes too shares its `tables`."""

    def __init__(
        self, database: Database, content: Content, focusing: Focusing = _no_focus
    ) -> None:
        self._database = database
        self._content = content
        self._focusing = focusing
        self.tables = PartTables()
        self._one_at_a_time = asyncio.Lock()
        self._parsed: dict[str, Exercise] = {}  # by fingerprint, so that a year is read once

    async def ensure(self, choir_id: str, on: date) -> Reading:
        """The reading of a date, composed now where there is none yet.

        NoExercise, or InputProblems for unknown steps, where no line can be made.
        """
        async with self._database.snapshot() as read:
            current = await current_reading(read, choir_id, on)
        if current is not None:
            return current

        def make(draw: _Draw) -> Reading:
            return draw.current or self._at(draw.choir.steps, draw, on)

        return await self._keep(choir_id, on, make)

    async def redraw(self, choir_id: str, on: date) -> Reading:
        """Another line for a date, at the steps of the one that is there.

        Refused("reading.posted") where it went up already, Refused("reading.pinned").
        """

        def make(draw: _Draw) -> Reading:
            now = draw.current
            if now is not None and now.pinned:
                raise Refused("reading.pinned")
            own = now is None or now.origin is Origin.OWN
            steps = draw.choir.steps if now is None or own else now.steps
            return self._at(steps, draw, on)

        return await self._keep(choir_id, on, make)

    async def swap_steps(self, choir_id: str, on: date, pitch: str, rhythm: str) -> Reading:
        """A line at other steps for one date, which the choir's own steps leave alone.

        Refused("reading.posted"), Refused("reading.pinned"); NoExercise or InputProblems where the
        choir cannot read at these steps.
        """

        def make(draw: _Draw) -> Reading:
            if draw.current is not None and draw.current.pinned:
                raise Refused("reading.pinned")
            return self._at(replace(draw.choir.steps, pitch=pitch, rhythm=rhythm), draw, on)

        return await self._keep(choir_id, on, make)

    async def pin(self, choir_id: str, on: date, *, pinned: bool) -> None:
        """Hold the line of a date, or let it follow the choir again; Refused("reading.posted")."""
        reading = await self.ensure(choir_id, on)
        async with self._database.transaction() as change:
            if await begun(change, choir_id, on):
                raise Refused("reading.posted")
            await pin_reading(change, reading.id, pinned=pinned)

    async def use_own(
        self, choir_id: str, on: date, exercise: Exercise, file: str, title: str
    ) -> Reading:
        """Put the director's own music on a date; InputProblems where a voice cannot sing it."""

        def make(draw: _Draw) -> Reading:
            parts = place_own(exercise, draw.choir, file, self._content.wording)
            return Reading(
                id=new_reading_id(),
                choir_id=choir_id,
                on=on,
                slot=DAILY,
                draw=draw.number,
                exercise=exercise,
                parts=parts,
                steps=draw.choir.steps,
                seed=0,
                origin=Origin.OWN,
                title=title,
            )

        return await self._keep(choir_id, on, make)

    async def use_made(
        self, choir_id: str, on: date, made: Callable[[Choir, int], Reading]
    ) -> Reading:
        """Put what was composed before on a date; `made` has the choir and the number of the draw.

        Refused("reading.posted"), and what `made` refuses.
        """
        return await self._keep(choir_id, on, lambda draw: made(draw.choir, draw.number))

    async def example(self, choir: Choir) -> Reading:
        """A line such as a choir would read, kept nowhere."""
        compose = partial(compose_reading, tables=self.tables)
        return await asyncio.to_thread(compose, choir, self._content, choir.starts_on, 0, ())

    async def find(self, reading_id: str) -> Reading:
        """A reading by its id; Refused("reading.unknown")."""
        async with self._database.snapshot() as read:
            found = await find_reading(read, reading_id)
        if found is None:
            raise Refused("reading.unknown")
        return found

    def companion_words(self, reading: Reading) -> str:
        """Who reads another line than the main one, in words; empty where all read one."""
        return companion_words(reading, self._content)

    def _at(self, steps: Steps, draw: _Draw, on: date) -> Reading:
        choir = replace(draw.choir, steps=steps)
        # A line at steps of its own is about those steps.
        focus = draw.focus() if steps == draw.choir.steps else ()
        compose = partial(
            compose_reading, choir, self._content, on, draw.number, draw.seen, tables=self.tables
        )
        wishes = [
            (back_too, coming_back)
            for back_too in ((True, False) if draw.back_too else (False,))
            for coming_back in ((focus, ()) if focus else ((),))
        ]
        for back_too, coming_back in wishes[:-1]:
            with suppress(NoExercise):
                return compose(focus=coming_back, back_too=back_too)
        return compose()

    async def _keep(self, choir_id: str, on: date, make: Callable[[_Draw], Reading]) -> Reading:
        async with self._one_at_a_time:
            for _ in range(_TRIES):
                draw = await self._draw(choir_id, on)
                made = await asyncio.to_thread(make, draw)
                if made is draw.current or await self._add(made, draw):
                    return made
        raise Refused("reading.changing")

    async def _draw(self, choir_id: str, on: date) -> _Draw:
        async with self._database.snapshot() as read:
            choir = await find_choir(read, choir_id)
            if choir is None:
                raise Refused("choir.unknown")
            number = await next_draw(read, choir_id, on)
            current = await current_reading(read, choir_id, on)
            seen = await history(read, choir_id, self._parsed)
            focus = await self._focusing(read, choir, on)
            planned = await plan_between(read, choir_id, on, on)
        self._parsed.update(seen)
        return _Draw(
            choir=choir,
            number=number,
            current=current,
            seen=tuple(seen.values()),
            focus=focus,
            back_too=planned.get(on) is Kind.RETROGRADE,
        )

    async def _add(self, made: Reading, draw: _Draw) -> bool:
        """Keep a line; False where the choir was changed while it was made."""
        async with self._database.transaction() as change:
            if await begun(change, made.choir_id, made.on):
                raise Refused("reading.posted")
            if await find_choir(change, made.choir_id) != draw.choir:
                return False
            await add_reading(change, made)
            return True
