"""Getting into the desk: the lock before every page of it, sign-in, passphrase, leaving.

Until a passphrase is set the desk is open on the machine itself and closed to everybody else.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime, timedelta
from enum import Enum

from aiohttp import web

from bot.chat.room.parts import Parts, parts_of
from bot.chat.room.posted import Posted, read_posted
from bot.chat.room.safety import Handler, peer_of
from bot.chat.room.stage_ticket import TICKETS, close_stage, on_open_stage, open_stage
from bot.errors import Refused

_KEPT = "kept."
_SECRET = ("passphrase", "old", "new", "again")


class Access(Enum):
    """What the desk's door says to a request."""

    FREE = "free"  # no passphrase yet, and the request is from this machine
    OPEN = "open"  # signed in
    LOCKED = "locked"  # a passphrase is set; this request has no session
    CLOSED = "closed"  # no passphrase yet, and the request is from elsewhere


async def access_of(request: web.Request) -> Access:
    """How far this request may come; a use of its session keeps it awake."""
    room = parts_of(request)
    local = room.address.is_local(request)  # asked while the connection is there for certain
    if not await room.services.desk.has_passphrase():
        return Access.FREE if local else Access.CLOSED
    return Access.OPEN if _signed_in(request) else Access.LOCKED


def _signed_in(request: web.Request) -> bool:
    room = parts_of(request)
    token = request.cookies.get(_cookie(room))
    return token is not None and room.sessions.use(token, _now(room))


def locked(handler: Handler) -> Handler:
    """The handler behind the desk's lock; what a form sent is kept over a sign-in."""

    async def behind_lock(request: web.Request) -> web.StreamResponse:
        access = await access_of(request)
        if access is Access.FREE or (access is Access.LOCKED and on_open_stage(request)):
            return await handler(request)
        if access is Access.OPEN:
            response = await handler(request)
            open_stage(request, response)
            return response
        if access is Access.CLOSED:
            return parts_of(request).pages.page("closed.html", {}, status=403)
        if request.method != "POST":
            return _sign_in_page(request, request.path_qs, Posted(), status=401)
        kept = _without_secrets(await read_posted(request))
        target = request.path if kept.fields else "/desk"
        return _sign_in_page(request, target, kept, status=401)

    return behind_lock


def desk_page(
    request: web.Request, template: str, values: Mapping[str, object], *, status: int = 200
) -> web.Response:
    """A page of the desk, which knows whether there is a lock to close."""
    all_values = {**values, "signed_in": _signed_in(request)}
    return parts_of(request).pages.page(template, all_values, status=status)


async def sign_in_form(request: web.Request) -> web.StreamResponse:
    """`GET /desk/sign-in`."""
    access = await access_of(request)
    if access in (Access.FREE, Access.OPEN):
        raise web.HTTPSeeOther("/desk")
    if access is Access.CLOSED:
        return parts_of(request).pages.page("closed.html", {}, status=403)
    return _sign_in_page(request, "/desk", Posted(), status=200)


async def sign_in(request: web.Request) -> web.StreamResponse:
    """`POST /desk/sign-in`: a session for the right passphrase, patience with a wrong one."""
    room = parts_of(request)
    posted = await read_posted(request)
    target = _inside(posted.text("next"))
    kept = Posted(
        fields={
            name.removeprefix(_KEPT): values
            for name, values in posted.fields.items()
            if name.startswith(_KEPT)
        }
    )
    client = peer_of(request) or ""
    wait = room.throttle.wait(client, _now(room))
    if wait:
        return _too_many(request, target, kept, wait)
    room.throttle.tried(client, _now(room))
    if not await room.services.desk.check_passphrase(posted.text("passphrase")):
        return _sign_in_page(request, target, kept, status=403, fault=True)
    room.throttle.right(client)
    if kept.fields:
        values = {"target": target, "kept": kept.fields}
        response = desk_page(request, "carry_on.html", values)
    else:
        response = web.Response(status=303, headers={"Location": target})
    give_cookie(room, response)
    return response


async def sign_out(request: web.Request) -> web.StreamResponse:
    """`POST /desk/sign-out`: lock the desk, and the stage too unless it was only left `idle`."""
    room, posted = parts_of(request), await read_posted(request)
    token = request.cookies.get(_cookie(room))
    if token is not None:
        room.sessions.close(token)
    response = web.Response(status=303, headers={"Location": "/"})
    response.del_cookie(_cookie(room), path="/", secure=room.address.secure, httponly=True)
    if not posted.text("idle"):
        close_stage(request, response)
    return response


async def stay_awake(request: web.Request) -> web.StreamResponse:
    """`POST /desk/awake`: somebody is typing; passing the lock has kept the session awake."""
    return web.Response(status=204)


async def passphrase_form(request: web.Request) -> web.StreamResponse:
    """`GET /desk/passphrase`."""
    return await _passphrase_page(request, faults={}, status=200)


async def set_passphrase(request: web.Request) -> web.StreamResponse:
    """`POST /desk/passphrase`: the first passphrase, or a new one by one who knows the old."""
    room, posted = parts_of(request), await read_posted(request)
    say, client = room.pages.say, peer_of(request) or ""
    new, again, faults = posted.text("new"), posted.text("again"), {}
    if await room.services.desk.has_passphrase():
        if room.throttle.wait(client, _now(room)):
            faults["old"] = say("desk.passphrase.wait")
        else:
            room.throttle.tried(client, _now(room))
            if await room.services.desk.check_passphrase(posted.text("old")):
                room.throttle.right(client)
            else:
                faults["old"] = say("desk.sign_in.wrong")
    if new != again:
        faults["again"] = say("desk.passphrase.differ")
    if not faults:
        try:
            await room.services.desk.set_passphrase(new)
        except Refused as refused:
            faults["new"] = say(refused.key, **refused.values)
    if faults:
        return await _passphrase_page(request, faults=faults, status=422)
    response = web.Response(status=303, headers={"Location": "/desk?done=passphrase"})
    await change_lock(request, response)
    return response


async def _passphrase_page(
    request: web.Request, *, faults: dict[str, str], status: int
) -> web.StreamResponse:
    room = parts_of(request)
    values = {
        "faults": faults,
        "has": await room.services.desk.has_passphrase(),
    }
    return desk_page(request, "passphrase.html", values, status=status)


def _sign_in_page(
    request: web.Request, target: str, kept: Posted, *, status: int, fault: bool = False
) -> web.Response:
    values = {
        "target": _inside(target),
        "kept": kept.fields,
        "prefix": _KEPT,
        "fault": fault,
        "wait_s": 0,
    }
    return parts_of(request).pages.page("sign_in.html", values, status=status)


def _too_many(
    request: web.Request, target: str, kept: Posted, wait: timedelta
) -> web.StreamResponse:
    seconds = int(wait.total_seconds()) + 1
    values = {
        "target": target,
        "kept": kept.fields,
        "prefix": _KEPT,
        "fault": False,
        "wait_s": seconds,
    }
    response = parts_of(request).pages.page("sign_in.html", values, status=429)
    response.headers["Retry-After"] = str(seconds)
    return response


def _without_secrets(posted: Posted) -> Posted:
    """What may be written into a page again; files and passphrases may not."""
    fields = {name: values for name, values in posted.fields.items() if name not in _SECRET}
    return Posted(fields=fields)


def _inside(target: str) -> str:
    """A path of the desk or the stage, whatever was asked for: nobody is sent elsewhere."""
    plain = target.split("?", 1)[0]
    safe = target.isascii() and target.isprintable() and "\\" not in target
    ours = plain in ("/desk", "/stage") or plain.startswith(("/desk/", "/stage/"))
    return target if safe and ours else "/desk"


async def change_lock(request: web.Request, response: web.Response) -> None:
    """After a new passphrase: every session and open stage ends, but for the one that set it."""
    room = parts_of(request)
    room.sessions.close_all()
    request.app[TICKETS].void_all(await room.services.desk.stage_key())
    give_cookie(room, response)


def give_cookie(room: Parts, response: web.Response) -> None:
    """Open a session for the browser that gets this answer."""
    response.set_cookie(
        _cookie(room),
        room.sessions.open(_now(room)),
        path="/",
        httponly=True,
        samesite="Strict",
        secure=room.address.secure,
    )


def _cookie(room: Parts) -> str:
    return "__Host-riserbell-desk" if room.address.secure else "riserbell-desk"


def _now(room: Parts) -> datetime:
    return room.services.clock.now()
