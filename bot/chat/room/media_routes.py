"""Pictures and sounds of readings, and the room's own files."""

from __future__ import annotations

import hashlib

from aiohttp import web

from bot.activities.way import Way
from bot.chat.room.assets import FOREVER
from bot.chat.room.parts import parts_of
from bot.chat.room.safety import PICTURE_POLICY
from bot.chat.room.sheets import media_mark
from bot.errors import Refused
from bot.service.card import Arrangement, Media

_KINDS = {"png": "image/png", "svg": "image/svg+xml", "mp3": "audio/mpeg", "mp4": "video/mp4"}


async def static(request: web.Request) -> web.StreamResponse:
    """`/static/<digest>/<name>`: a file of the room, by its name in memory."""
    assets = parts_of(request).assets
    asset = assets.files.get(request.match_info["name"])
    if asset is None or request.match_info["digest"] != assets.digest:
        raise web.HTTPNotFound
    headers = {"Cache-Control": FOREVER, "Content-Type": asset.content_type}
    return web.Response(body=asset.data, headers=headers)


async def media(request: web.Request) -> web.StreamResponse:
    """`/media/<reading>/<arrangement>/<part>/<kind>`: bytes of one part of a reading.

    With the mark that the sheet's address carries they never change and may be kept for ever.
    """
    room = parts_of(request)
    found = request.match_info
    try:
        arrangement, kind = Arrangement(found["arrangement"]), Media(found["kind"])
    except ValueError as error:
        raise web.HTTPNotFound from error
    card = await room.services.readings.card(found["reading"])
    choir = await room.services.choirs.get(card.choir_id)
    part = int(found["part"])
    data = await room.services.readings.media(card.reading_id, arrangement, part, kind)
    marked = request.query.get("v") == media_mark(card, choir)
    return media_response(request, data, kind, keep=FOREVER if marked else "no-cache")


async def clip(request: web.Request) -> web.StreamResponse:
    """`/clip/<reading>/<part>.mp4`: the film of one part, from 0, made when it is first wanted.

    Where the page goes in it hangs on what was counted before, so a player asks for it again.
    """
    room, found = parts_of(request), request.match_info
    card = await room.services.readings.card(found["reading"])
    data = await room.services.play.clips.clip(card.reading_id, int(found["part"]))
    return media_response(request, data, f"{found['part']}.mp4", keep="no-cache")


async def turned(request: web.Request) -> web.StreamResponse:
    """`/turned/<reading>/<part>/<way>/<kind>`: one part, from 0, as it is read another way."""
    room, found = parts_of(request), request.match_info
    try:
        way, kind = Way(found["way"]), Media(found["kind"])
    except ValueError as error:
        raise web.HTTPNotFound from error
    card = await room.services.readings.card(found["reading"])
    choir = await room.services.choirs.get(card.choir_id)
    try:
        part = int(found["part"])
        data = await room.services.play.turned.get(card.reading_id, part, way, kind)
    except Refused as refused:
        raise web.HTTPNotFound from refused
    marked = request.query.get("v") == media_mark(card, choir)
    return media_response(request, data, kind, keep=FOREVER if marked else "no-cache")


def media_response(
    request: web.Request, data: bytes, kind: Media | str, *, keep: str
) -> web.StreamResponse:
    """Bytes with their type, a tag to ask again with, and a range where the player wants one.

    `kind` is what they are, or a name with its ending.
    """
    headers = {
        "Content-Type": _KINDS[str(kind).rsplit(".", 1)[1]],
        "Cache-Control": keep,
        "Content-Security-Policy": PICTURE_POLICY,
        "ETag": f'"{hashlib.sha256(data).hexdigest()[:32]}"',
        "Accept-Ranges": "bytes",
    }
    if headers["ETag"] in request.headers.get("If-None-Match", ""):
        return web.Response(status=304, headers=headers)
    wanted = _range(request, len(data))
    if wanted is None:
        return web.Response(body=data, headers=headers)
    if not wanted:
        headers["Content-Range"] = f"bytes */{len(data)}"
        return web.Response(status=416, headers=headers)
    headers["Content-Range"] = f"bytes {wanted.start}-{wanted.stop - 1}/{len(data)}"
    return web.Response(status=206, body=data[wanted.start : wanted.stop], headers=headers)


def _range(request: web.Request, size: int) -> range | None:
    """The bytes asked for: None for all, an empty range for a wish that cannot be met."""
    try:
        asked = request.http_range
    except ValueError:
        return range(0)
    if asked.start is None and asked.stop is None:
        return None
    start = 0 if asked.start is None else asked.start
    if start < 0:
        start = max(size + start, 0)
    stop = size if asked.stop is None else min(asked.stop, size)
    return range(start, stop) if start < stop else range(0)
