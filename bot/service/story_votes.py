"""Votes at home: a ballot from each seat until the close, and a telling that goes on by itself."""

from __future__ import annotations

import logging
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime

from bot.activities.calendar import day_ends_at, due_at, local_day, meets
from bot.activities.choir import Choir
from bot.activities.story_home import Moment, by_itself
from bot.activities.story_run import Phase, StoryRun, Venue, VoteClosed
from bot.activities.vote import of_ballots
from bot.errors import Refused, RiserbellError
from bot.privacy.approval import Sheet
from bot.service.approvals import Approvals
from bot.service.changes import Changes, go_on
from bot.service.choirs import Choirs
from bot.service.clock import Clock
from bot.service.tellings import Tellings, Told, votes_allowed
from bot.store import stories as rows
from bot.store.choirs import find_choir
from bot.store.database import Database, Snapshot
from bot.store.seats import find_seat

_log = logging.getLogger(__name__)
_MOST_STEPS = 8  # a laptop that slept catches up with so many events at a time


@dataclass(frozen=True, slots=True, kw_only=True)
class Ballot:
    """What a seat sees of a vote: the telling, and its own path so far."""

    told: Told
    path: int | None


class StoryVotes:
    """The votes of tellings at home."""

    def __init__(
        self,
        *,
        database: Database,
        tellings: Tellings,
        choirs: Choirs,
        approvals: Approvals,
        clock: Clock,
        changes: Changes,
    ) -> None:
        self._database = database
        self._tellings = tellings
        self._choirs = choirs
        self._approvals = approvals
        self._clock = clock
        self._changes = changes

    async def ballot(self, seat_id: str) -> Ballot | None:
        """The vote that a seat may take part in; None where there is none for it."""
        async with self._database.snapshot() as read:
            found = await self._vote_of(read, seat_id)
            if found is None:
                return None
            told, _ = found
            return Ballot(told=told, path=await rows.ballot_of(read, told.telling.id, seat_id))

    async def vote(self, seat_id: str, path: int, scene: tuple[str, int] | None = None) -> None:
        """Keep a seat's ballot; Refused("telling.no_vote") where no vote is open for it.

        `scene`: telling and visit for which it was meant, where that may have gone by.
        """
        async with self._database.snapshot() as read:
            found = await self._vote_of(read, seat_id)
        if found is None or scene not in (None, _scene(found[0])):
            raise Refused("telling.no_vote")
        async with self._database.transaction(found[1].fields) as change:
            again = await self._vote_of(change, seat_id)
            if again is None or again[1] != found[1] or _scene(again[0]) != _scene(found[0]):
                raise Refused("telling.no_vote")
            if not 0 <= path < len(again[0].scene.paths):
                raise Refused("telling.no_vote")
            await rows.cast_ballot(change, again[0].telling.id, seat_id, path)

    async def run(self) -> None:
        """Let tellings at home go on by themselves, for ever."""
        await go_on(
            self.round, self._clock, self._changes, "a story could not go on and is tried again"
        )

    async def round(self) -> datetime | None:
        """Do all that is due now; the moment at which to look again, None for never."""
        async with self._database.snapshot() as read:
            tellings = await rows.open_tellings(read)
        moments = []
        for telling in tellings:
            try:
                moments.append(await self._go_on(telling))
            except RiserbellError as error:
                _log.warning("a story could not go on: %s", type(error).__name__)
        return min((moment for moment in moments if moment is not None), default=None)

    async def _go_on(self, telling: rows.Telling) -> datetime | None:
        """What a telling at home does by itself now; when to look at it again."""
        choir = await self._choirs.get(telling.choir_id)
        for _ in range(_MOST_STEPS):
            async with self._database.transaction() as change:
                told = await self._tellings.told(change, telling)
                if told.run.venue is not Venue.HOME or told.run.phase is Phase.ENDED:
                    return None
                counts = await rows.ballots(change, telling.id, len(told.scene.paths))
                moment = _moment(choir, told.run, self._clock.now())
                event = by_itself(told.music.story, told.run, moment, counts)
                if event is None:
                    return _look_again(choir, told.run, moment)
                await self._tellings.carry_out(change, telling, event)
            self._tellings.ring(choir.id)
        return self._clock.now()

    async def close_vote(self, choir_id: str) -> Told:
        """Close a vote at home before its time."""
        async with self._database.transaction() as change:
            telling = await self._tellings.open(change, choir_id)
            told = await self._tellings.told(change, telling)
            counts = await rows.ballots(change, telling.id, len(told.scene.paths))
            closed = VoteClosed(outcome=of_ballots(counts, told.run.quorum))
            told = await self._tellings.carry_out(change, telling, closed)
        self._tellings.ring(choir_id)
        return told

    async def _vote_of(self, read: Snapshot, seat_id: str) -> tuple[Told, Sheet] | None:
        """The open vote of a seat's choir, with the sheet that lets it vote."""
        seat = await find_seat(read, seat_id)
        if seat is None:
            return None
        choir = await find_choir(read, seat.choir_id)
        telling = await rows.open_telling(read, seat.choir_id)
        if choir is None or telling is None:
            return None
        now = self._clock.now()
        sheet = await self._approvals.current_in(read, choir.id, local_day(now, choir.zone))
        told = await self._tellings.told(read, telling)
        vote = told.run.vote
        if sheet is None or not votes_allowed(sheet) or told.run.venue is not Venue.HOME:
            return None
        if vote is None or told.run.paused or vote.closes_at is None or now >= vote.closes_at:
            return None
        return told, sheet


def _scene(told: Told) -> tuple[str, int]:
    return told.telling.id, told.visit


def _moment(choir: Choir, run: StoryRun, now: datetime) -> Moment:
    today = local_day(now, choir.zone)
    return Moment(
        now=now,
        today=today,
        meets=today >= choir.starts_on and meets(choir.meeting, today),
        due=due_at(today, choir.post_at, choir.zone),
        closes_at=due_at(today, run.closes, choir.zone),
    )


def _look_again(choir: Choir, run: StoryRun, moment: Moment) -> datetime | None:
    """The next moment at which something may be due: a close, a posting time, a midnight."""
    closes_at = run.vote.closes_at if run.vote is not None else None
    candidates: Sequence[datetime | None] = (
        closes_at, moment.due, day_ends_at(moment.today, choir.zone)
    )  # fmt: skip
    later = [each.astimezone(UTC) for each in candidates if each is not None and each > moment.now]
    return min(later, default=None)
