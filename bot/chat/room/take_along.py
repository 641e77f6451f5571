"""A reading in every format at the desk: written music, pictures, letters, braille, words."""

from __future__ import annotations

from datetime import date

from aiohttp import web

from bot.chat.room.desk import Done, back_to_day
from bot.chat.room.entry import desk_page
from bot.chat.room.pages import refusal
from bot.chat.room.parts import parts_of
from bot.chat.room.posted import read_posted
from bot.errors import InputProblems, Refused
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


async def published(request: web.Request) -> web.StreamResponse:
    """`POST .../day/<date>/published`: a line inside a published reading for that day."""
    room, on, choir_id = parts_of(request), _on(request), request.match_info["choir"]
    name = (await read_posted(request)).text("criteria")
    try:
        await room.services.papers.music.set_reading(choir_id, on, name)
    except Refused as refused:
        return await _page(request, status=409, wish=refusal(room.pages.say, refused))
    except InputProblems as problems:
        return await _page(request, status=422, wish=str(problems))
    raise back_to_day(choir_id, Done.READING, on)


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
