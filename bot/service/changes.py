"""A bell that rings when a choir or a reading changed, for all who wait until something is due."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Awaitable, Callable
from datetime import datetime, timedelta

from bot.service.clock import Clock

SOON = timedelta(seconds=30)  # after what did not go well
_log = logging.getLogger(__name__)


class Listener:
    """One pair of ears. A ring between two waits is not lost, several are heard as one."""

    def __init__(self) -> None:
        self._rung = asyncio.Event()

    def hear(self) -> None:
        """Remember a ring until the next wait."""
        self._rung.set()

    async def wait(self) -> None:
        """Wait for the next ring, or return at once where one came since the last wait."""
        await self._rung.wait()
        self._rung.clear()


async def rest(clock: Clock, until: datetime | None, listener: Listener) -> None:
    """Sleep until a moment, or for ever, or until the bell rings."""
    waits = [asyncio.ensure_future(listener.wait())]
    if until is not None:
        seconds = (until - clock.now()).total_seconds()
        waits.append(asyncio.ensure_future(clock.sleep(max(seconds, 0.0))))
    try:
        await asyncio.wait(waits, return_when=asyncio.FIRST_COMPLETED)
    finally:
        for wait in waits:
            wait.cancel()
        await asyncio.gather(*waits, return_exceptions=True)


class Changes:
    """Rung by the use cases, heard by the scheduler and by whoever prepares ahead."""

    def __init__(self) -> None:
        self._listeners: list[Listener] = []

    def listen(self) -> Listener:
        """Give a listener of its own to somebody who will wait for rings from now on."""
        listener = Listener()
        self._listeners.append(listener)
        return listener

    def ring(self) -> None:
        """Say that something changed."""
        for listener in self._listeners:
            listener.hear()


async def go_on(
    round_: Callable[[], Awaitable[datetime | None]], clock: Clock, changes: Changes, trouble: str
) -> None:
    """Do a round now, at the moment that the last one named, and after every ring, for ever.

    One that fails is logged as `trouble` and tried again soon.
    """
    listener = changes.listen()
    while True:
        try:
            until = await round_()
        except Exception:
            _log.exception("%s", trouble)
            until = clock.now() + SOON
        await rest(clock, until, listener)
