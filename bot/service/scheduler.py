"""One loop: post whatever is due, sleep until the next due moment, wake early on a change."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Coroutine
from contextlib import suppress
from datetime import date, datetime, timedelta
from typing import TypeVar

from bot.activities.choir import Choir
from bot.activities.plan import next_instant, open_day
from bot.activities.reading_day import Phase
from bot.errors import RiserbellError
from bot.service.changes import Changes, Listener, rest
from bot.service.choirs import Choirs
from bot.service.clock import Clock
from bot.service.deliver import Deliver
from bot.service.outlet import Outlet, Outlets
from bot.service.preparing import Preparing
from bot.service.troubles import Troubles

_log = logging.getLogger(__name__)
_T = TypeVar("_T")

TASK = "post"
SOON = timedelta(seconds=30)  # until a posting that began is tried again
LATER = timedelta(minutes=5)  # until anything else that failed is tried again
_AT_A_TIME = 64  # choirs of one surface


class Scheduler:
    """Posts for every choir to every surface. Keeps nothing that a restart would lose.

    A failure of one choir or surface never stops another; it is kept for the status page.
    """

    def __init__(
        self,
        *,
        choirs: Choirs,
        deliver: Deliver,
        outlets: Outlets,
        clock: Clock,
        changes: Changes,
        preparing: Preparing,
        preparing_bell: Listener,
        troubles: Troubles,
    ) -> None:
        self._choirs = choirs
        self._deliver = deliver
        self._outlets = outlets
        self._clock = clock
        self._changes = changes
        self._preparing = preparing
        self._preparing_bell = preparing_bell
        self._troubles = troubles

    async def run(self) -> None:
        """Post and prepare for ever."""
        async with asyncio.TaskGroup() as tasks:
            tasks.create_task(self._post_for_ever())
            tasks.create_task(self._preparing.run())

    async def _post_for_ever(self) -> None:
        listener = self._changes.listen()
        while True:
            soonest = await self._round_or_retry()
            self._preparing_bell.hear()
            await rest(self._clock, soonest, listener)

    async def round(self) -> datetime | None:
        """Do all that is due now; the moment at which to look again, None for never.

        Surfaces and choirs go together: an answer from far away takes its time, and none holds up
        another.
        """
        began, choirs = self._clock.now(), await self._choirs.all()
        moments = [next_instant(choir, began) for choir in choirs]
        for again in await _together([self._attend(choirs, outlet) for outlet in self._outlets]):
            moments += again
        return min((moment for moment in moments if moment is not None), default=None)

    async def _round_or_retry(self) -> datetime | None:
        try:
            return await self.round()
        except Exception:
            _log.exception("a round of postings failed and is tried again")
            return self._clock.now() + SOON

    async def _attend(self, choirs: tuple[Choir, ...], outlet: Outlet) -> list[datetime | None]:
        """Post what every choir is due on one surface; for each, when to try again."""
        places = asyncio.Semaphore(_AT_A_TIME)

        async def in_turn(choir: Choir) -> datetime | None:
            async with places:
                return await self.attend(choir, outlet)

        return await _together([in_turn(choir) for choir in choirs])

    async def attend(self, choir: Choir, outlet: Outlet) -> datetime | None:
        """Post what one choir is due on one surface.

        When to try again where something is left undone; None where all is well.
        """
        task = f"{TASK} {outlet.name}"
        try:
            since = await outlet.carried_since(choir.id)
            undone = since is not None and await self._post(choir, outlet, since)
        except Exception as error:
            if self._troubles.note(choir.id, task, error):
                _log.warning("posting to %s failed: %s", outlet.name, type(error).__name__)
            if not isinstance(error, RiserbellError | TimeoutError):
                _log.exception("posting failed in an unforeseen way")
            begun = await self._begun(choir, outlet)
            return self._clock.now() + (SOON if begun else LATER)
        self._troubles.clear(choir.id, task)
        return self._clock.now() + LATER if undone else None

    async def _post(self, choir: Choir, outlet: Outlet, since: date) -> bool:
        """Whether a day of today stays unsure."""
        await self._deliver.close(choir, outlet, since)
        now = self._clock.now()
        plans = {plan.on: plan for plan in await self._deliver.unsettled(choir, outlet)}
        if (today := open_day(choir, now)) is not None:
            plans[today.on] = today
        days = [await self._deliver.visit(choir, plan, outlet) for plan in plans.values()]
        ends = {plan.on: plan.ends for plan in plans.values()}
        return any(day.phase is Phase.UNSURE and now < ends[day.on] for day in days)

    async def _begun(self, choir: Choir, outlet: Outlet) -> bool:
        with suppress(Exception):
            return bool(await self._deliver.unsettled(choir, outlet))
        return False


async def _together(work: list[Coroutine[object, object, _T]]) -> list[_T]:
    """The results of all, in order; one alone needs no task of its own."""
    if len(work) == 1:
        return [await work[0]]
    return list(await asyncio.gather(*work))
