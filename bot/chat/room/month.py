"""A choir's month in one look at the desk."""

from __future__ import annotations

from datetime import date, timedelta

from aiohttp import web

from bot.chat.room.board import today_of
from bot.chat.room.entry import desk_page
from bot.chat.room.parts import parts_of


async def month(request: web.Request) -> web.StreamResponse:
    """`/desk/choir/<id>/month?of=<year>-<month>`; this month where none is asked for."""
    room = parts_of(request)
    choir = await room.services.choirs.get(request.match_info["choir"])
    first = month_asked_for(request, today_of(room, choir))
    values = {
        "choir": choir,
        "weeks": await room.services.papers.months.weeks(choir.id, first),
        "month": room.pages.say.date(first, "LLLL y"),
        "before": (first - timedelta(days=1)).strftime("%Y-%m"),
        "after": (first + timedelta(days=31)).strftime("%Y-%m"),
    }
    return desk_page(request, "month.html", values)


def month_asked_for(request: web.Request, today: date) -> date:
    """The first day of the month in `?of=`, of this month where none is asked for; else 404."""
    asked = request.query.get("of")
    if asked is None:
        return today.replace(day=1)
    try:
        first = date.fromisoformat(f"{asked}-01")
    except ValueError as error:
        raise web.HTTPNotFound from error
    if not 2000 <= first.year <= 2200:
        raise web.HTTPNotFound
    return first
