"""A bell that rings when a choir changed, so that whoever sleeps until a due time looks again."""

from __future__ import annotations

import asyncio


class Changes:
    """Rung by the use cases, heard by the scheduler. A ring between two waits is not lost."""

    def __init__(self) -> None:
        self._rung = asyncio.Event()

    def ring(self) -> None:
        """Say that something changed."""
        self._rung.set()

    async def wait(self) -> None:
        """Wait for the next ring, or return at once where one came since the last wait."""
        await self._rung.wait()
        self._rung.clear()
