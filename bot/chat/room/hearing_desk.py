"""The hearing sheet from the desk: which part, how many singers, then a PDF. Nothing is kept."""

from __future__ import annotations

import secrets

from aiohttp import web

from bot.activities.choir import Choir
from bot.chat.room.entry import desk_page
from bot.chat.room.pages import refusal
from bot.chat.room.parts import choir_of, parts_of
from bot.errors import InputProblems, Refused
from bot.music.hearing import MOST
from bot.service.hearing import HearingWish

_POLICY = "default-src 'none'; frame-ancestors 'none'"


async def form(request: web.Request) -> web.StreamResponse:
    """`/desk/choir/<id>/hearing`."""
    return _page(request, await choir_of(request), status=200)


async def sheet(request: web.Request) -> web.StreamResponse:
    """`/desk/choir/<id>/hearing.pdf?voice=&count=&seed=`: another seed gives other lines."""
    room, choir = parts_of(request), await choir_of(request)
    chosen = next((v for v in choir.voices if v.voice == request.query.get("voice")), None)
    count = request.query.get("count", "")
    if chosen is None or not count.isdigit() or not 1 <= int(count) <= MOST:
        sentence = room.pages.say("hearing.desk.count", most=MOST)
        return _page(request, choir, status=422, wish=sentence)
    seed = request.query.get("seed", "")
    wish = HearingWish(
        steps=(choir.steps.pitch, choir.steps.rhythm),
        voice=chosen.voice,
        count=int(count),
        limits=chosen.range,
        clef=chosen.clef,
        seed=int(seed[:18]) if seed.isdigit() else 0,
        sequence=choir.steps.sequence,
        solfa=choir.presentation.solfa,
    )
    try:
        data = await room.services.papers.music.hearing(wish)
    except Refused as refused:
        return _page(request, choir, status=409, wish=refusal(room.pages.say, refused))
    except InputProblems as problems:
        return _page(request, choir, status=409, wish=str(problems))
    headers = {
        "Content-Type": "application/pdf",
        "Content-Disposition": f'attachment; filename="hearing-{seed[:18] or 0}.pdf"',
        "Content-Security-Policy": _POLICY,
    }
    return web.Response(body=data, headers=headers)


def _page(
    request: web.Request, choir: Choir, *, status: int, wish: str | None = None
) -> web.StreamResponse:
    values = {
        "choir": choir,
        "wish": wish,
        "most": MOST,
        "seed": secrets.randbelow(1_000_000),
    }
    return desk_page(request, "hearing.html", values, status=status)
