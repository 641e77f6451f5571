"""Patience at the door of the seats: how often codes may be guessed.

All of it lives in memory; time comes in as an argument. Five wrong codes a minute from one client,
then a wait of 30 s that doubles to 15 minutes; sixty a minute from everybody pause the door for a
minute; a hundred a day close it until the director opens it again. With forty seats a guess hits
with a chance of 3.6e-11, so a hundred a day over a year of school do with one of 6.6e-7.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta

_MINUTE = timedelta(minutes=1)
_FORGET = timedelta(minutes=15)
_FREE_TRIES = 5
_FIRST_WAIT = timedelta(seconds=30)
_LONGEST_WAIT = timedelta(minutes=15)
_TRIES_OF_ALL = 60
_TRIES_A_DAY = 100


@dataclass(slots=True)
class _Client:
    wrong: deque[datetime] = field(default_factory=deque)
    waits: int = 0
    closed_until: datetime | None = None
    last: datetime | None = None


class JoinDoor:
    """A try counts as wrong from the moment it is made until its code turns out to be right."""

    def __init__(self) -> None:
        self._clients: dict[str, _Client] = {}
        self._all: deque[datetime] = deque()
        self._pause_until: datetime | None = None
        self._day: date | None = None
        self._today = 0
        self.closed = False

    def wait(self, client: str, now: datetime) -> timedelta:
        """Time until this client may try again; zero when it may try now."""
        self._turn_to(now)
        waits = [self._pause_until]
        if client in self._clients:
            waits.append(self._clients[client].closed_until)
        return max((until - now for until in waits if until and until > now), default=timedelta())

    def tried(self, client: str, now: datetime) -> bool:
        """Count a try before its code is looked at; True where it closes the door for the day."""
        self._turn_to(now)
        known = self._clients.setdefault(client, _Client())
        known.wrong.append(now)
        known.last = now
        _drop_before(known.wrong, now - _MINUTE)
        if len(known.wrong) >= _FREE_TRIES:
            known.closed_until = now + min(_FIRST_WAIT * 2**known.waits, _LONGEST_WAIT)
            known.waits += 1
            known.wrong.clear()
        self._all.append(now)
        _drop_before(self._all, now - _MINUTE)
        if len(self._all) >= _TRIES_OF_ALL:
            self._pause_until = now + _MINUTE
        self._today += 1
        closes = self._today >= _TRIES_A_DAY and not self.closed
        self.closed = self.closed or closes
        return closes

    def right(self, client: str, now: datetime) -> None:
        """The try was none at all: forget it, and the client's wait with it."""
        known = self._clients.get(client)
        if known is not None:
            if known.wrong:
                known.wrong.pop()
            known.closed_until = None
        if self._all:
            self._all.pop()
        if len(self._all) < _TRIES_OF_ALL:
            self._pause_until = None
        self._today = max(0, self._today - 1)

    def reopen(self) -> None:
        """Let codes be tried again, and count the day's from nothing."""
        self.closed, self._today, self._pause_until = False, 0, None
        self._clients.clear()
        self._all.clear()

    @property
    def remembered(self) -> int:
        """How many clients are held in memory."""
        return len(self._clients)

    def _turn_to(self, now: datetime) -> None:
        if self._day != now.date():
            self._day, self._today = now.date(), 0
        for client, known in list(self._clients.items()):
            ends = max(moment for moment in (known.last, known.closed_until, now - 2 * _FORGET)
                       if moment is not None)  # fmt: skip
            if now - ends >= _FORGET:
                del self._clients[client]


def _drop_before(moments: deque[datetime], limit: datetime) -> None:
    while moments and moments[0] < limit:
        moments.popleft()
