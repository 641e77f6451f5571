"""Mystery tunes before a choir: which one comes, among which names it stands, when it is told."""

from __future__ import annotations

import asyncio
import secrets
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from random import Random

from bot.activities.calendar import local_day
from bot.activities.choir import Choir, Hearing
from bot.activities.reading import Origin, Reading
from bot.errors import Refused
from bot.music.exercise import Exercise
from bot.music.half_steps import moved
from bot.music.tune import Tune
from bot.service.card import ReadingCard
from bot.service.cards import card_of
from bot.service.choirs import Choirs
from bot.service.clock import Clock
from bot.service.composing import Composing
from bot.service.content import Content
from bot.service.placing import place_own
from bot.service.tune_book import PlacedTune, called, placed_tunes
from bot.store.database import Database
from bot.store.openings import open_line
from bot.store.readings import add_reading, next_draw
from bot.store.tunes import (
    TuneRead,
    add_tune_read,
    mark_told,
    switch,
    switches,
    tunes_read,
)

TUNE = "tune"  # the slot of mystery tunes
NAMES = 4  # among which the right one stands
_MOVES = (0, *(step * sign for step in range(1, 7) for sign in (-1, 1)))


@dataclass(frozen=True, slots=True, kw_only=True)
class TuneState:
    """A tune of the collection and whether it is on."""

    placed: PlacedTune
    on: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Mystery:
    """A tune before a choir: its page, the names to choose from, and the tune once it was told."""

    card: ReadingCard
    choir: Choir
    names: tuple[str, ...]
    on: date
    told: Tune | None


class Mysteries:
    """Nothing is kept of what anybody guessed."""

    def __init__(
        self,
        database: Database,
        choirs: Choirs,
        composing: Composing,
        content: Content,
        clock: Clock,
    ) -> None:
        self._database = database
        self._choirs = choirs
        self._composing = composing
        self._content = content
        self._clock = clock

    async def tunes(self, sequence: str = "steps-first") -> tuple[TuneState, ...]:
        """The whole collection on the steps of a sequence, the easiest first."""
        placed = await asyncio.to_thread(
            placed_tunes, self._content, self._content.sequences[sequence]
        )
        async with self._database.snapshot() as read:
            said = await switches(read)
        return tuple(TuneState(placed=each, on=said.get(each.tune.id, True)) for each in placed)

    async def switch(self, tune_id: str, *, on: bool) -> None:
        """Put a tune on or off for all choirs; Refused("tune.unknown")."""
        if all(state.placed.tune.id != tune_id for state in await self.tunes()):
            raise Refused("tune.unknown")
        async with self._database.transaction() as change:
            await switch(change, tune_id, on=on)

    async def any_for(self, choir: Choir) -> bool:
        """Whether a tune that is on lies within a choir's steps and voices."""
        return any(_fits(tune, choir) for tune in await self._within(choir))

    async def begin(self, choir_id: str) -> str:
        """Put a tune before a choir, one that it has met least; the id of its reading.

        Refused("tune.none") where none that is on lies within its steps and voices.
        """
        choir = await self._choirs.get(choir_id)
        async with self._database.snapshot() as read:
            before = await tunes_read(read, choir_id)
        chosen, exercise = await self._choose(choir, before)
        on = local_day(self._clock.now(), choir.zone)
        parts = await asyncio.to_thread(
            place_own, exercise, choir, chosen.id, self._content.wording
        )
        async with self._database.transaction() as change:
            reading = Reading(
                id=secrets.token_hex(10),
                choir_id=choir_id,
                on=on,
                slot=TUNE,
                draw=await next_draw(change, choir_id, on, TUNE),
                exercise=exercise,
                parts=parts,
                steps=choir.steps,
                seed=secrets.randbits(62),
                origin=Origin.OWN,
            )
            await add_reading(change, reading)
            await add_tune_read(change, choir_id, reading.id, chosen.id)
        return reading.id

    async def any_before(self, choir_id: str) -> bool:
        """Whether a choir has met a tune yet."""
        async with self._database.snapshot() as read:
            return bool(await tunes_read(read, choir_id))

    async def latest(self, choir_id: str) -> Mystery | None:
        """The tune that was put before a choir last; None where there was none yet.

        None too where no collection has that tune any more.
        """
        await self._choirs.get(choir_id)
        async with self._database.snapshot() as read:
            before = await tunes_read(read, choir_id)
        try:
            return await self._mystery(before[-1]) if before else None
        except Refused as refused:
            if refused.key != "tune.unknown":
                raise
            return None

    async def find(self, choir_id: str, reading_id: str) -> Mystery:
        """A tune that was put before a choir; Refused("reading.unknown")."""
        return await self._mystery(await self._find(choir_id, reading_id))

    async def tell(self, choir_id: str, reading_id: str) -> Tune:
        """Tell its name, and open it for hearing where the choir hears lines at all."""
        found = await self._find(choir_id, reading_id)
        choir = await self._choirs.get(choir_id)
        async with self._database.transaction() as change:
            await mark_told(change, reading_id)
            if choir.hearing is not Hearing.NEVER:
                await open_line(change, reading_id)
        return await self._tune(found)

    async def guess(self, choir_id: str, reading_id: str, name: str) -> Tune | None:
        """The tune where the name is right; nothing of it is kept."""
        tune = await self._tune(await self._find(choir_id, reading_id))
        return tune if name == called(tune) else None

    async def _choose(self, choir: Choir, before: Sequence[TuneRead]) -> tuple[Tune, Exercise]:
        """A tune that the choir has met least, in a key for its voices; drawn among equals."""
        times = Counter(each.tune_id for each in before)
        within = await self._within(choir)
        Random(secrets.randbits(64)).shuffle(within)  # noqa: S311 -- a tune for a class
        within.sort(key=lambda tune: times[tune.id])
        for tune in within:
            exercise = _fits(tune, choir)
            if exercise is not None:
                return tune, exercise
        raise Refused("tune.none")

    async def _within(self, choir: Choir) -> list[Tune]:
        """Every tune that is on of which the choir has met all."""
        return [
            state.placed.tune
            for state in await self.tunes(choir.steps.sequence)
            if state.on and state.placed.within(choir.steps)
        ]

    async def _find(self, choir_id: str, reading_id: str) -> TuneRead:
        async with self._database.snapshot() as read:
            before = await tunes_read(read, choir_id)
        found = next((each for each in before if each.reading_id == reading_id), None)
        if found is None:
            raise Refused("reading.unknown")
        return found

    async def _tune(self, found: TuneRead) -> Tune:
        for state in await self.tunes():
            if state.placed.tune.id == found.tune_id:
                return state.placed.tune
        raise Refused("tune.unknown")

    async def _mystery(self, found: TuneRead) -> Mystery:
        reading = await self._composing.find(found.reading_id)
        choir = await self._choirs.get(reading.choir_id)
        tune = await self._tune(found)
        others = [s.placed.tune for s in await self.tunes() if s.on and s.placed.tune != tune]
        return Mystery(
            card=card_of(reading, choir, self._content.wording),
            choir=choir,
            names=names_with(tune, others, reading.seed),
            on=found.on,
            told=tune if found.told else None,
        )


def names_with(tune: Tune, others: Sequence[Tune], seed: int) -> tuple[str, ...]:
    """The right name among others, those of the same metre and mode first, in a drawn order."""
    dice = Random(seed)  # noqa: S311 -- names on a page
    pool = sorted(others, key=lambda other: other.id)
    dice.shuffle(pool)
    pool.sort(
        key=lambda other: (
            (other.exercise.metre, other.exercise.key.mode)
            != (tune.exercise.metre, tune.exercise.key.mode)
        )
    )
    names = [called(tune), *(called(other) for other in pool[: NAMES - 1])]
    dice.shuffle(names)
    return tuple(names)


def _fits(tune: Tune, choir: Choir) -> Exercise | None:
    """The tune in the key nearest to its own in which every voice can sing it; None without one."""
    for half_steps in _MOVES:
        exercise = moved(tune.exercise, half_steps)
        if all(_sings(exercise, index, choir) for index in range(len(choir.voices))):
            return exercise
    return None


def _sings(exercise: Exercise, voice: int, choir: Choir) -> bool:
    limits = choir.voices[voice].range
    written = exercise.parts[0].do_octave
    return any(
        all(limits.holds(pitch) for pitch in exercise.in_key(exercise.key, (octave,)).pitches())
        for octave in range(written - 3, written + 4)
    )
