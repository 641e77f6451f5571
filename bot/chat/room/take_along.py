"""A reading in every format at the desk: written music, pictures, letters, braille, words."""

from __future__ import annotations

from datetime import date

from aiohttp import web

from bot.chat.room.entry import desk_page
from bot.chat.room.pages import refusal
from bot.chat.room.parts import parts_of
from bot.errors import Refused
from bot.service.export import TYPES, Format

_POLICY = "default-src 'none'; frame-ancestors 'none'"


async def page(request: web.Request) -> web.StreamResponse:
    """`/desk/choir/<id>/day/<date>/along`: the formats, each with what it is good for."""
    return await _page(request, status=200)


async def file(request: web.Request) -> web.StreamResponse:
    """`/desk/choir/<id>/day/<date>/along.<kind>`: one of them."""
    room, on, kind = parts_of(request), _on(request), Format(request.match_info["kind"])
    try:
        data = await room.services.papers.music.along(request.match_info["choir"], on, kind)
    except Refused as refused:
        return await _page(request, status=409, wish=refusal(room.pages.say, refused))
    headers = {
        "Content-Type": TYPES[kind],
        "Content-Disposition": f'attachment; filename="reading-{on}.{kind}"',
        "Content-Security-Policy": _POLICY,
    }
    return web.Response(body=data, headers=headers)


async def _page(
    request: web.Request, *, status: int, wish: str | None = None
) -> web.StreamResponse:
    room, on = parts_of(request), _on(request)
    choir = await room.services.choirs.get(request.match_info["choir"])
    values = {
        "choir": choir,
        "on": on,
        "day": room.pages.say.date(on),
        "kinds": [(kind.value, kind.name.lower()) for kind in Format],
        "wish": wish,
    }
    return desk_page(request, "along.html", values, status=status)


def _on(request: web.Request) -> date:
    try:
        return date.fromisoformat(request.match_info["on"])
    except ValueError as error:
        raise web.HTTPNotFound from error
