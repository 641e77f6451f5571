"""Tickets of the stage: who may turn its dials without opening the desk again in mid-lesson.

The desk relocks after ten idle minutes; a lesson lasts longer. A page of the stage that was opened
behind the desk's lock carries a ticket for the stage's own few changes, good for a school day, for
this run of the program and until the passphrase is changed. Nothing of it is kept anywhere.
"""

from __future__ import annotations

import hashlib
import hmac
import secrets
from datetime import datetime, timedelta

from aiohttp import web

from bot.chat.room.parts import parts_of

HEADER = "X-Stage-Ticket"
_GOOD_FOR = timedelta(hours=10)


class Tickets:
    """Issues tickets and knows its own."""

    def __init__(self) -> None:
        self._key = secrets.token_bytes(32)

    def void_all(self) -> None:
        """End every ticket, as a new passphrase does."""
        self._key = secrets.token_bytes(32)

    def issue(self, now: datetime) -> str:
        """A ticket from now on."""
        until = str(int((now + _GOOD_FOR).timestamp()))
        return f"{until}.{self._sign(until)}"

    def holds(self, ticket: str, now: datetime) -> bool:
        """Whether a ticket is ours and its day is not over."""
        until, _, sign = ticket.partition(".")
        if not hmac.compare_digest(self._sign(until).encode(), sign.encode()):
            return False
        return now.timestamp() < int(until)

    def _sign(self, until: str) -> str:
        return hmac.new(self._key, until.encode(), hashlib.sha256).hexdigest()


TICKETS = web.AppKey("stage_tickets", Tickets)


def require_ticket(request: web.Request) -> None:
    """403 for a request that no open stage sent."""
    now = parts_of(request).services.clock.now()
    if not request.app[TICKETS].holds(request.headers.get(HEADER, ""), now):
        raise web.HTTPForbidden
