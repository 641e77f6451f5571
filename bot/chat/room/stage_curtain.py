"""The curtain's own few questions from the stage: where it falls, that it fell, what was held."""

from __future__ import annotations

from aiohttp import web

from bot.chat.room.pages import refusal
from bot.chat.room.parts import parts_of
from bot.chat.room.stage_ticket import require_ticket
from bot.errors import Refused

_REFUSED = 409


async def place(request: web.Request) -> web.StreamResponse:
    """`POST /stage/<choir>/<reading>/curtain`: the pulse at which the page shall go, drawn now."""
    require_ticket(request)
    room, found = parts_of(request), request.match_info
    try:
        at = await room.services.play.curtains.place(found["choir"], found["reading"])
    except Refused as refused:
        return _told(request, refused)
    return web.json_response({"at": at})


async def fell(request: web.Request) -> web.StreamResponse:
    """`POST .../curtain/fell?at=<pulses>&hand=<0|1>`: the page went; how many beats were left."""
    require_ticket(request)
    room, found = parts_of(request), request.match_info
    try:
        at = float(request.query["at"])
    except (KeyError, ValueError) as error:
        raise web.HTTPNotFound from error
    if not -1 <= at <= 1000:  # not a number is turned away here too
        raise web.HTTPNotFound
    try:
        fallen = await room.services.play.curtains.fell(
            found["choir"], found["reading"], at, by_hand=request.query.get("hand") == "1"
        )
    except Refused as refused:
        return _told(request, refused)
    return web.json_response({"number": fallen.number, "left": fallen.left})


async def held(request: web.Request) -> web.StreamResponse:
    """`POST /stage/<choir>/fall/<number>?beats=<count>`: what the class held."""
    require_ticket(request)
    room, found = parts_of(request), request.match_info
    beats = request.query.get("beats", "")
    if not (beats.isascii() and beats.isdigit() and len(beats) <= 4):
        raise web.HTTPNotFound
    try:
        await room.services.play.curtains.held(found["choir"], int(found["number"]), int(beats))
    except Refused as refused:
        return _told(request, refused)
    return web.Response(status=204)


def _told(request: web.Request, refused: Refused) -> web.StreamResponse:
    if not refused.key.startswith("curtain."):
        raise refused
    sentence = refusal(parts_of(request).pages.say, refused)
    return web.json_response({"sentence": sentence}, status=_REFUSED)
