"""No more than 45 requests a second, whoever in the library makes them.

Discord allows 50 a second for everything but answers to interactions, and the library has no
limiter of its own for that. aiohttp calls `on_request_start` before each request, the library's own
retries included, and waits for it: there the pace is kept.
"""

from __future__ import annotations

import asyncio
from types import SimpleNamespace

import aiohttp

RATE_PER_S = 45.0
BURST = 2.0  # no second holds more than 47, which leaves room for a jam on the way
# Documented as outside the global limit; they have limits of their own, per token.
_FREE = ("/interactions/", "/webhooks/")


class Pace:
    """A token bucket. Waiting requests go in the order in which they came."""

    def __init__(self, rate_per_s: float = RATE_PER_S, burst: float = BURST) -> None:
        self._rate, self._burst = rate_per_s, burst
        self._tokens = burst
        self._counted_at: float | None = None
        self._turn = asyncio.Lock()

    async def take(self) -> None:
        """Wait for a token and take it."""
        async with self._turn:
            while (missing := 1.0 - self._refill()) > 0:  # noqa: ASYNC110 - time itself is awaited
                await asyncio.sleep(missing / self._rate)
            self._tokens -= 1.0

    def _refill(self) -> float:
        now = asyncio.get_running_loop().time()
        since = 0.0 if self._counted_at is None else now - self._counted_at
        self._counted_at = now
        self._tokens = min(self._burst, self._tokens + since * self._rate)
        return self._tokens


def paced(pace: Pace) -> aiohttp.TraceConfig:
    """The hook to hand to the library as its `http_trace`."""

    async def before(
        _session: aiohttp.ClientSession,
        _context: SimpleNamespace,
        params: aiohttp.TraceRequestStartParams,
    ) -> None:
        path = params.url.path
        if "/api/" in path and not any(part in path for part in _FREE):
            await pace.take()

    hook = aiohttp.TraceConfig()
    hook.on_request_start.append(before)
    return hook
