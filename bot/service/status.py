"""What the status page shows: last and next posting of each choir, and what needs a look."""

from __future__ import annotations

import asyncio
from dataclasses import dataclass
from datetime import date, datetime
from itertools import islice
from pathlib import Path

from bot import __version__
from bot.activities.calendar import in_zone, local_day
from bot.activities.choir import Choir
from bot.activities.plan import days_from
from bot.activities.reading_day import Phase, ReadingDay
from bot.activities.reckoning import RECKONED_BACK, still_missed
from bot.service.choirs import Choirs
from bot.service.clock import Clock
from bot.service.match_score import is_score
from bot.service.ranges import due_of, due_words
from bot.service.troubles import Troubles
from bot.store.database import Database
from bot.store.deliveries import begun, days_of
from bot.store.folder import size_bytes
from bot.store.sub_folders import PAPER
from bot.wording import Wording

LOOKED_BACK = RECKONED_BACK  # how long an unsure or missed day stays on the page
_AHEAD = 10  # meeting days looked at for the next one without a posting


@dataclass(frozen=True, slots=True, kw_only=True)
class ChoirStatus:
    """One choir. Moments are aware and in the choir's zone; `trouble` is a sentence to show.

    `range_tests` are sentences on the parts whose range should be tested again.
    """

    choir_id: str
    choir_name: str
    last_on: date | None
    last_at: datetime | None
    next_on: date | None
    next_at: datetime | None
    unsure: tuple[date, ...] = ()
    missed: tuple[date, ...] = ()
    trouble: str | None = None
    range_tests: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Status:
    """The whole installation; `data_bytes` is the size of the data folder."""

    version: str
    born: str
    data_bytes: int
    choirs: tuple[ChoirStatus, ...]


class StatusPage:
    """Call it to look."""

    def __init__(
        self,
        database: Database,
        choirs: Choirs,
        clock: Clock,
        troubles: Troubles,
        say: Wording,
        folder: Path,
    ) -> None:
        self._database = database
        self._choirs = choirs
        self._clock = clock
        self._troubles = troubles
        self._say = say
        self._folder = folder

    async def __call__(self) -> Status:
        """Gather the status as it is now."""
        choirs = [await self._choir(choir) for choir in await self._choirs.all()]
        return Status(
            version=__version__,
            born=self._database.born,
            data_bytes=await asyncio.to_thread(size_bytes, self._folder),
            choirs=tuple(choirs),
        )

    async def _choir(self, choir: Choir) -> ChoirStatus:
        now = self._clock.now()
        today = local_day(now, choir.zone)
        async with self._database.snapshot() as read:
            sent = _lines(await days_of(read, choir.id, Phase.SENT))
            doubtful = _lines(await days_of(read, choir.id, Phase.UNSURE, Phase.MISSED, limit=100))
            coming = [
                plan
                for plan in islice(days_from(choir, today), _AHEAD)
                if not await begun(read, choir.id, plan.on)
            ]
        # A sheet that was handed out is no posting.
        last = next((day for day in sent if day.surface != PAPER), None)
        last_at = last.settled_at if last else None
        return ChoirStatus(
            choir_id=choir.id,
            choir_name=choir.name,
            last_on=last.on if last else None,
            last_at=in_zone(last_at, choir.zone) if last_at else None,
            next_on=coming[0].on if coming else None,
            next_at=in_zone(coming[0].due, choir.zone) if coming else None,
            unsure=_dates(doubtful, Phase.UNSURE, today - LOOKED_BACK),
            missed=tuple(
                on
                for on in _dates(doubtful, Phase.MISSED, today - LOOKED_BACK)
                if still_missed(choir.meeting, on, today)
            ),
            trouble=self._troubles.of(choir.id, self._say),
            range_tests=due_words(await due_of(self._database, choir, today), self._say),
        )


def _lines(days: tuple[ReadingDay, ...]) -> tuple[ReadingDay, ...]:
    """Postings of something to read: a card of a score is none."""
    return tuple(day for day in days if not is_score(day.slot))


def _dates(days: tuple[ReadingDay, ...], phase: Phase, first: date) -> tuple[date, ...]:
    """Dates in one phase from `first` on, in order, each once for all surfaces."""
    return tuple(sorted({day.on for day in days if day.phase is phase and day.on >= first}))
