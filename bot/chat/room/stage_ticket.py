"""Tickets of the stage: who may turn its dials without opening the desk again in mid-lesson.

The desk relocks after ten idle minutes; a lesson lasts longer, and a clicker types no passphrase. A
page of the stage that was opened behind the desk's lock carries a ticket for the stage's own few
changes, and its browser a cookie that opens the stage's other pages. Both are good for a school day
and until the passphrase is changed, also when the program is begun anew in mid-lesson: the key that
signs them is kept with the passphrase, the tickets themselves are kept nowhere.
"""

from __future__ import annotations

import hashlib
import hmac
from datetime import datetime, timedelta

from aiohttp import web

from bot.chat.room.parts import Parts, parts_of

HEADER = "X-Stage-Ticket"
_GOOD_FOR = timedelta(hours=10)
_PATH = "/stage"
_BY = web.RequestKey("opened_by_ticket", str)


class Tickets:
    """Issues tickets and knows its own; `key` is 32 random bytes."""

    def __init__(self, key: bytes) -> None:
        self._key = key

    def void_all(self, key: bytes) -> None:
        """End every ticket, as a new passphrase does: from now on another key signs."""
        self._key = key

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
    if not request.app[TICKETS].holds(request.headers.get(HEADER, ""), _now(request)):
        raise web.HTTPForbidden


def ticket_of(request: web.Request) -> str:
    """The ticket for a page of the stage: the one by which it was opened, else a fresh one.

    Opened by its cookie alone, a stage lasts no longer for being used.
    """
    return request.get(_BY, "") or request.app[TICKETS].issue(_now(request))


def on_open_stage(request: web.Request) -> bool:
    """Whether a browser with an open stage asks for another page of the stage."""
    asks = request.path == _PATH or request.path.startswith(f"{_PATH}/")
    ticket = request.cookies.get(_cookie(parts_of(request)), "")
    if (
        request.method == "POST"
        or not asks
        or not request.app[TICKETS].holds(ticket, _now(request))
    ):
        return False
    request[_BY] = ticket
    return True


def open_stage(request: web.Request, response: web.StreamResponse) -> None:
    """Let the browser of one who has opened the desk open the stage's pages for a school day."""
    if not _leads_to_stage(request):
        return
    room = parts_of(request)
    response.set_cookie(
        _cookie(room),
        request.app[TICKETS].issue(_now(request)),
        path=_PATH,
        httponly=True,
        samesite="Strict",
        secure=room.address.secure,
    )


def close_stage(request: web.Request, response: web.StreamResponse) -> None:
    """Take the cookie back from a browser whose director locks the desk."""
    room = parts_of(request)
    response.del_cookie(_cookie(room), path=_PATH, secure=room.address.secure, httponly=True)


def _leads_to_stage(request: web.Request) -> bool:
    return request.path == _PATH or request.path.startswith(f"{_PATH}/")


def _cookie(room: Parts) -> str:
    return "__Secure-riserbell-stage" if room.address.secure else "riserbell-stage"


def _now(request: web.Request) -> datetime:
    return parts_of(request).services.clock.now()
