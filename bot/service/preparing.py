"""Work ahead: the next lines are composed, drawn and sounded before they are due."""

from __future__ import annotations

import logging

from bot.activities.choir import Choir
from bot.activities.plan import coming
from bot.errors import RiserbellError
from bot.service.changes import Listener
from bot.service.choirs import Choirs
from bot.service.clock import Clock
from bot.service.composing import Composing
from bot.service.media_requests import MediaSource, all_requests
from bot.service.troubles import Troubles

_log = logging.getLogger(__name__)

TASK = "prepare"
DAYS_AHEAD = 2  # today's, if it is still to come or just went up, and the next


class Preparing:
    """Goes round all choirs whenever it is told that something changed. Posting never waits for it.

    `bell` is rung by the scheduler after each of its rounds.
    """

    def __init__(
        self,
        *,
        choirs: Choirs,
        composing: Composing,
        media: MediaSource,
        clock: Clock,
        bell: Listener,
        troubles: Troubles,
    ) -> None:
        self._choirs = choirs
        self._composing = composing
        self._media = media
        self._clock = clock
        self._bell = bell
        self._troubles = troubles

    async def run(self) -> None:
        """Prepare now and after every ring, for ever."""
        while True:
            await self.round()
            await self._bell.wait()

    async def round(self) -> None:
        """Prepare what is next for every choir; a failure of one does not stop another."""
        for choir in await self._choirs.all():
            try:
                await self._prepare(choir)
            except Exception as error:
                if self._troubles.note(choir.id, TASK, error):
                    _log.warning("a line could not be prepared: %s", type(error).__name__)
                if not isinstance(error, RiserbellError):
                    _log.exception("preparing failed in an unforeseen way")
            else:
                self._troubles.clear(choir.id, TASK)

    async def _prepare(self, choir: Choir) -> None:
        for day in coming(choir, self._clock.now(), DAYS_AHEAD):
            reading = await self._composing.ensure(choir.id, day.on)
            for request in all_requests(reading, choir):
                await self._media.get_or_make(request)
