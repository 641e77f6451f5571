"""Rate limits with the behaviour of Discord's: a bucket per route and place, and 50 a second."""

from __future__ import annotations

import hashlib
from collections import defaultdict, deque
from dataclasses import dataclass

from tests.standin.world import Clock

GLOBAL_PER_SECOND = 50

# (requests, seconds) per route and place: figures commonly seen, as Discord publishes none.
_ROUTES: dict[tuple[str, str], tuple[int, float]] = {
    ("POST", "/channels/{channel_id}/messages"): (5, 5.0),
    ("GET", "/channels/{channel_id}/messages"): (5, 5.0),
    ("PATCH", "/channels/{channel_id}/messages/{message_id}"): (5, 5.0),
    ("POST", "/webhooks/{webhook_id}/{webhook_token}"): (5, 2.0),
    ("PATCH", "/webhooks/{webhook_id}/{webhook_token}/messages/{message_id}"): (5, 2.0),
    ("PATCH", "/webhooks/{webhook_id}/{webhook_token}/messages/@original"): (5, 2.0),
}
_OTHERWISE = (10, 5.0)


@dataclass(frozen=True, kw_only=True)
class Refusal:
    """A 429: how long to wait and whether it is the global limit."""

    retry_after: float
    everywhere: bool


class RateLimits:
    """Counts requests; answers with the headers to send and, where due, a refusal."""

    def __init__(self, clock: Clock) -> None:
        self._clock = clock
        self._buckets: dict[tuple[str, str, str], tuple[float, int]] = {}
        self._recent: deque[float] = deque()
        self.drawn: dict[str, int] = defaultdict(int)
        self.busiest_second = 0
        self.switched_on = True

    def take(
        self, method: str, template: str, place: str, *, counts_globally: bool
    ) -> tuple[dict[str, str], Refusal | None]:
        """Count one request of a route at a place (its channel, server or webhook)."""
        if not self.switched_on:
            return {}, None
        now = self._clock.now()
        if counts_globally and (wait := self._over_global(now)) > 0:
            self.drawn["global"] += 1
            return {"X-RateLimit-Global": "true"}, Refusal(retry_after=wait, everywhere=True)
        limit, seconds = _ROUTES.get((method, template), _OTHERWISE)
        started, used = self._buckets.get((method, template, place), (now, 0))
        if now >= started + seconds:
            started, used = now, 0
        left = started + seconds - now
        refused = used >= limit
        self._buckets[method, template, place] = (started, used + (not refused))
        headers = {
            "X-RateLimit-Limit": str(limit),
            "X-RateLimit-Remaining": str(max(0, limit - used - 1)),
            "X-RateLimit-Reset": f"{self._clock.wall() + left:.3f}",
            "X-RateLimit-Reset-After": f"{left:.3f}",
            "X-RateLimit-Bucket": hashlib.sha256(f"{method}{template}".encode()).hexdigest()[:16],
        }
        if not refused:
            return headers, None
        self.drawn[f"{method} {template}"] += 1
        return headers | {"X-RateLimit-Scope": "user"}, Refusal(retry_after=left, everywhere=False)

    def _over_global(self, now: float) -> float:
        while self._recent and self._recent[0] <= now - 1.0:
            self._recent.popleft()
        if len(self._recent) >= GLOBAL_PER_SECOND:
            return self._recent[0] + 1.0 - now
        self._recent.append(now)
        self.busiest_second = max(self.busiest_second, len(self._recent))
        return 0.0
