"""A bell that rings when a choir or a reading changed, for all who wait until something is due."""

from __future__ import annotations

import asyncio


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
