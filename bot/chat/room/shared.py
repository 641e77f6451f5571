"""One answer for many who ask for the same at the same moment: a class that opens a new sheet."""

from __future__ import annotations

import asyncio
from collections import defaultdict
from collections.abc import Awaitable, Callable, Hashable


class SharedPages:
    """Draws a page once for all who wait for it.

    Whoever asks while it is being drawn gets the next drawing, begun after the question, so nobody
    is shown anything older than the question.
    """

    def __init__(self) -> None:
        self._next: dict[Hashable, asyncio.Task[str]] = {}
        self._turn: defaultdict[Hashable, asyncio.Lock] = defaultdict(asyncio.Lock)

    async def get(self, key: Hashable, draw: Callable[[], Awaitable[str]]) -> str:
        """The page under a key; what `draw` raises is raised for everybody who waited."""
        waiting = self._next.get(key)
        if waiting is None:
            waiting = self._next[key] = asyncio.create_task(self._draw(key, draw))
        # One who goes away does not take the page away from the others.
        return await asyncio.shield(waiting)

    async def _draw(self, key: Hashable, draw: Callable[[], Awaitable[str]]) -> str:
        turn = self._turn[key]
        try:
            async with turn:
                del self._next[key]
                return await draw()
        finally:
            if key not in self._next and not turn.locked():
                self._turn.pop(key, None)
