"""One answer for many who ask for the same: a school that opens a new sheet."""

from __future__ import annotations

import asyncio
from collections import defaultdict
from collections.abc import Awaitable, Callable, Hashable


class SharedPages:
    """Draws a page once for all who wait for it, and for all who ask as long as nothing changes.

    Whoever asks while it is being drawn gets the next drawing, begun after the question, so nobody
    is shown anything older than the question. `stamp` tells one state of what a page shows from
    another: it is asked before a page is drawn, so that a change in between leaves an old stamp.
    """

    def __init__(self) -> None:
        self._kept: dict[Hashable, tuple[Hashable, str]] = {}
        self._next: dict[Hashable, asyncio.Task[str]] = {}
        self._turn: defaultdict[Hashable, asyncio.Lock] = defaultdict(asyncio.Lock)

    async def get(
        self, key: Hashable, draw: Callable[[], Awaitable[str]], stamp: Callable[[], Hashable]
    ) -> str:
        """The page under a key; what `draw` raises is raised for everybody who waited."""
        stamped, page = self._kept.get(key, (None, ""))
        if page and stamped == stamp():
            return page
        waiting = self._next.get(key)
        if waiting is None:
            waiting = self._next[key] = asyncio.create_task(self._draw(key, draw, stamp))
        # One who goes away does not take the page away from the others.
        return await asyncio.shield(waiting)

    async def _draw(
        self, key: Hashable, draw: Callable[[], Awaitable[str]], stamp: Callable[[], Hashable]
    ) -> str:
        turn = self._turn[key]
        try:
            async with turn:
                del self._next[key]
                before = stamp()
                page = await draw()
                self._kept[key] = (before, page)
                return page
        finally:
            if key not in self._next and not turn.locked():
                self._turn.pop(key, None)
