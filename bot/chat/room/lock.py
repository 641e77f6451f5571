"""The lock of the desk: sessions that close when idle, and patience with wrong passphrases.

All of it lives in memory and dies with the process. No I/O here; time comes in as an argument.
Numbers: relock after ten idle minutes; five wrong tries a minute, then a wait of 30 s that doubles
to 15 minutes; sixty wrong tries a minute from everybody together pause the desk for a minute.
"""

from __future__ import annotations

import hashlib
import secrets
from collections import deque
from dataclasses import dataclass, field
from datetime import datetime, timedelta

IDLE = timedelta(minutes=10)
LONGEST = timedelta(hours=10)
_MINUTE = timedelta(minutes=1)
_FORGET = timedelta(minutes=15)
_FREE_TRIES = 5
_FIRST_WAIT = timedelta(seconds=30)
_LONGEST_WAIT = timedelta(minutes=15)
_TRIES_OF_ALL = 60


@dataclass(slots=True)
class _Session:
    opened: datetime
    used: datetime


class Sessions:
    """Who has opened the desk. Tokens carry 256 random bits; only their digests are held."""

    def __init__(self) -> None:
        self._open: dict[bytes, _Session] = {}

    def open(self, now: datetime) -> str:
        """Start a session and return its token."""
        self._sweep(now)
        token = secrets.token_urlsafe(32)
        self._open[_digest(token)] = _Session(opened=now, used=now)
        return token

    def use(self, token: str, now: datetime) -> bool:
        """Whether the token opens the desk; if so, it is awake for another ten minutes."""
        self._sweep(now)
        session = self._open.get(_digest(token))
        if session is None:
            return False
        session.used = now
        return True

    def close(self, token: str) -> None:
        """End one session."""
        self._open.pop(_digest(token), None)

    def close_all(self) -> None:
        """End every session, as a new passphrase does."""
        self._open.clear()

    def _sweep(self, now: datetime) -> None:
        for digest, session in list(self._open.items()):
            if now - session.used >= IDLE or now - session.opened >= LONGEST or now < session.used:
                del self._open[digest]


def _digest(token: str) -> bytes:
    return hashlib.sha256(token.encode()).digest()


@dataclass(slots=True)
class _Tries:
    at: deque[datetime] = field(default_factory=deque)
    waits: int = 0
    closed_until: datetime | None = None


class Throttle:
    """How long a client has to wait before its next try. Clients are forgotten after 15 minutes."""

    def __init__(self) -> None:
        self._clients: dict[str, _Tries] = {}
        self._all: deque[datetime] = deque()
        self._pause_until: datetime | None = None

    def wait(self, client: str, now: datetime) -> timedelta:
        """Time until this client may try again; zero when it may try now."""
        self._forget(now)
        waits = [self._pause_until]
        if client in self._clients:
            waits.append(self._clients[client].closed_until)
        return max((until - now for until in waits if until and until > now), default=timedelta())

    def tried(self, client: str, now: datetime) -> None:
        """Count a try, before the passphrase is checked: tries sent at once count each."""
        tries = self._clients.setdefault(client, _Tries())
        tries.at.append(now)
        _drop_before(tries.at, now - _MINUTE)
        if len(tries.at) >= _FREE_TRIES:
            tries.closed_until = now + min(_FIRST_WAIT * 2**tries.waits, _LONGEST_WAIT)
            tries.waits += 1
            tries.at.clear()
        self._all.append(now)
        _drop_before(self._all, now - _MINUTE)
        if len(self._all) >= _TRIES_OF_ALL:
            self._pause_until = now + _MINUTE

    def right(self, client: str) -> None:
        """Forget a client that knew the passphrase."""
        self._clients.pop(client, None)

    @property
    def remembered(self) -> int:
        """How many clients are held in memory."""
        return len(self._clients)

    def _forget(self, now: datetime) -> None:
        for client, tries in list(self._clients.items()):
            last = max([*tries.at, *([tries.closed_until] if tries.closed_until else [])])
            if now - last >= _FORGET:
                del self._clients[client]


def _drop_before(moments: deque[datetime], limit: datetime) -> None:
    while moments and moments[0] < limit:
        moments.popleft()
