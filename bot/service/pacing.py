"""The pace of a choir: what is proposed for each track, and what the next lines come back to."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import date

from bot.activities.calendar import local_day
from bot.activities.choir import Choir
from bot.activities.pacing import SPACING, Proposal, focus_of, propose_pace, weak_steps
from bot.errors import InputProblems, Refused
from bot.music.level import level_of
from bot.music.sequence import Sequence, Track
from bot.service.approvals import Approvals
from bot.service.choirs import Choirs
from bot.service.clock import Clock
from bot.service.content import Content
from bot.service.evidence import Material, Taken, evidence_of, gather, tracks_of
from bot.store.database import Database, Snapshot
from bot.store.readings import focuses_before


@dataclass(frozen=True, slots=True, kw_only=True)
class Pace:
    """What the desk shows of a choir's pace; `weak` are step ids, the weakest first."""

    choir: Choir
    proposals: tuple[Proposal, ...]
    weak: tuple[str, ...]
    names: Mapping[str, str]  # of every step


class Pacing:
    """Proposes; the director decides. Nothing here is kept beside the choir's own steps."""

    def __init__(
        self,
        database: Database,
        choirs: Choirs,
        content: Content,
        clock: Clock,
        approvals: Approvals,
    ) -> None:
        self._database = database
        self._choirs = choirs
        self._content = content
        self._clock = clock
        self._approvals = approvals
        self._taken = {name: Taken(sequence) for name, sequence in content.sequences.items()}

    async def pace(self, choir_id: str) -> Pace:
        """The proposals for a choir; Refused("reading.no_sequence") without its order of steps."""
        choir = await self._choirs.get(choir_id)
        sequence = self._sequence(choir)
        today = local_day(self._clock.now(), choir.zone)
        async with self._database.snapshot() as read:
            material = await self._material(read, choir, today)
        taken = self._taken[sequence.id]
        return await asyncio.to_thread(_pace, choir, sequence, material, taken)

    async def move(self, choir_id: str, track: Track, to: str) -> None:
        """Set a track one step on or back, as the director decided.

        Refused("pace.moved_on") where `to` is no neighbour of the choir's step any more.
        """
        choir = await self._choirs.get(choir_id)
        neighbours = _neighbours(choir, self._sequence(choir))
        if to not in neighbours[track]:
            raise Refused("pace.moved_on")
        await self._choirs.change(replace(choir, steps=replace(choir.steps, **{track.value: to})))

    async def focus(self, read: Snapshot, choir: Choir, on: date) -> Callable[[], tuple[str, ...]]:
        """What tells the earlier steps to which the line of a date comes back; slow when called.

        The same rows give the same answer; it is kept with the line.
        """
        sequence = self._content.sequences.get(choir.steps.sequence)
        if sequence is None:
            return tuple
        today = local_day(self._clock.now(), choir.zone)
        material = await self._material(read, choir, min(on, today), only_told=True)
        if not (material.counts or material.matches):
            return tuple  # nobody said how anything went
        recent = await focuses_before(read, choir.id, on, SPACING)

        taken = self._taken[sequence.id]

        def find() -> tuple[str, ...]:
            weak = weak_steps(evidence_of(material, taken), _steps(choir))
            return focus_of(weak, recent)

        return find

    async def _material(
        self, read: Snapshot, choir: Choir, until: date, *, only_told: bool = False
    ) -> Material:
        sheet = await self._approvals.current_in(read, choir.id, until)
        least = None if sheet is None else sheet.least_in_class
        return await gather(read, choir, until, least, only_told=only_told)

    def _sequence(self, choir: Choir) -> Sequence:
        sequence = self._content.sequences.get(choir.steps.sequence)
        if sequence is None:
            raise Refused("reading.no_sequence", sequence=choir.steps.sequence)
        return sequence


def _pace(choir: Choir, sequence: Sequence, material: Material, taken: Taken) -> Pace:
    evidence = evidence_of(material, taken)
    now, neighbours = _steps(choir), _neighbours(choir, sequence)
    return Pace(
        choir=choir,
        proposals=propose_pace(
            evidence,
            now,
            {track: before for track, (before, _) in neighbours.items()},
            {track: after for track, (_, after) in neighbours.items()},
            tracks_of(sequence),
        ),
        weak=weak_steps(evidence, now),
        names={step.id: step.name for step in sequence.steps},
    )


def _steps(choir: Choir) -> dict[Track, str]:
    steps = choir.steps
    return {Track.PITCH: steps.pitch, Track.RHYTHM: steps.rhythm, Track.VOICE: steps.voice}


def _neighbours(choir: Choir, sequence: Sequence) -> dict[Track, tuple[str | None, str | None]]:
    """The steps before and after the choir's own on each track, where it may stand there."""
    now = _steps(choir)
    found = {}
    for track, step in now.items():
        order = [each.id for each in sequence.track(track)]
        at = order.index(step) if step in order else None
        before = order[at - 1] if at else None
        after = order[at + 1] if at is not None and at + 1 < len(order) else None
        found[track] = (
            _if_possible(sequence, now, track, before),
            _if_possible(sequence, now, track, after),
        )
    return found


def _if_possible(
    sequence: Sequence, now: Mapping[Track, str], track: Track, step: str | None
) -> str | None:
    """The step, if the choir's other steps allow it."""
    if step is None:
        return None
    try:
        level_of(sequence, {**now, track: step}.values())
    except InputProblems:
        return None
    return step
