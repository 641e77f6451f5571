"""News for open boards: server-sent events, one stream a board, nothing in them but an id."""

from __future__ import annotations

import asyncio
from collections import defaultdict

from aiohttp import web

_HEARTBEAT_S = 20.0
_WRITE_LIMIT_S = 10.0
_WAITING_NEWS = 8
# A class hears at once; a school's boards one after another, so that they do not all fetch the new
# sheet in the same instant.
_AT_ONCE = 30
_EACH_S = 0.004


class Hub:
    """Passes the ids of new sheets on to every open board of a choir."""

    def __init__(self) -> None:
        self._boards: defaultdict[str, set[asyncio.Queue[str | None]]] = defaultdict(set)
        self._closed = False
        self._told_until = 0.0  # on the loop's clock: when the last board has been told

    def announce(self, choir_id: str, reading_id: str) -> None:
        """Tell the choir's open boards of a new sheet; never waits.

        A board that does not read its news loses the oldest: the next one makes it fetch the
        board as it stands anyway.
        """
        loop = asyncio.get_running_loop()
        now = loop.time()
        for queue in self._boards.get(choir_id, ()):
            self._told_until = max(self._told_until, now - _AT_ONCE * _EACH_S) + _EACH_S
            if self._told_until <= now:
                _tell(queue, reading_id)
            else:
                loop.call_at(self._told_until, _tell, queue, reading_id)

    def close(self) -> None:
        """End all streams, so that the server can stop at once."""
        self._closed = True
        for queues in self._boards.values():
            for queue in queues:
                _tell(queue, None)

    async def stream(self, request: web.Request, choir_id: str, newest: str) -> web.StreamResponse:
        """Serve one board until it goes away. The first event names the newest sheet.

        With it a board that slept notices what it has missed.
        """
        response = web.StreamResponse(headers={"Content-Type": "text/event-stream"})
        await response.prepare(request)
        queue: asyncio.Queue[str | None] = asyncio.Queue(_WAITING_NEWS)
        self._boards[choir_id].add(queue)
        try:
            await _send(response, f"retry: 3000\nevent: newest\ndata: {newest}\n\n")
            while not self._closed:
                if not await self._pass_on(response, queue):
                    break
        except (ConnectionError, TimeoutError):
            pass  # the board went away; there is nobody to tell
        finally:
            self._boards[choir_id].discard(queue)
            if not self._boards[choir_id]:
                del self._boards[choir_id]
        return response

    async def _pass_on(
        self, response: web.StreamResponse, queue: asyncio.Queue[str | None]
    ) -> bool:
        try:
            news = await asyncio.wait_for(queue.get(), _HEARTBEAT_S)
        except TimeoutError:
            await _send(response, ": still here\n\n")
            return True
        if news is None:
            return False
        await _send(response, f"event: newest\ndata: {news}\n\n")
        return True


def _tell(queue: asyncio.Queue[str | None], news: str | None) -> None:
    if queue.full():
        queue.get_nowait()
    queue.put_nowait(news)


async def _send(response: web.StreamResponse, text: str) -> None:
    await asyncio.wait_for(response.write(text.encode()), _WRITE_LIMIT_S)
