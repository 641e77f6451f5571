"""What a choir takes away from the desk: the week's sheets, and the substitute's folder."""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable
from datetime import date, timedelta

from aiohttp import web

from bot.activities.choir import Choir
from bot.chat.room.board import today_of
from bot.chat.room.entry import desk_page
from bot.chat.room.home_page import home_page, sub_page
from bot.chat.room.pack import tune_of
from bot.chat.room.pages import refusal
from bot.chat.room.parts import Parts, choir_of, parts_of
from bot.chat.room.posted import read_posted
from bot.chat.room.sheets import sheet_of
from bot.errors import InputProblems, Refused
from bot.music.page_options import PageOptions, Under
from bot.music.rhythm_names import RhythmNames
from bot.service.form_fields import FormFields
from bot.service.page_form import page_fields, read_page
from bot.service.printed import printed_sub, printed_week
from bot.service.printed_ways import printed_ways
from bot.service.sub import lower_steps
from bot.service.takehome import HomeFolder

_WEEK = timedelta(days=7)
_DAYS_OF_FILMS = 5
_TYPES = {"html": "text/html; charset=utf-8", "pdf": "application/pdf"}
# A file that is looked at where it was fetched may style itself, and nothing else.
_POLICY = (
    "default-src 'none'; style-src 'unsafe-inline'; font-src data:; img-src data:; "
    "media-src data:; frame-ancestors 'none'"
)


async def overview(request: web.Request) -> web.StreamResponse:
    """`/desk/choir/<id>/paper`: what can be taken along, and the folder's five sheets."""
    return await _page(request, await choir_of(request), status=200)


async def week(request: web.Request) -> web.StreamResponse:
    """`/desk/choir/<id>/take-home[-large].<html|pdf>?week=<date>`: a whole week as one file."""
    choir = await choir_of(request)
    home = parts_of(request).services.papers.home
    gathering = home.week(choir.id, _date(request.query.get("week")), _wished(request))
    return await _home(request, choir, gathering)


async def day(request: web.Request) -> web.StreamResponse:
    """`/desk/choir/<id>/day/<date>/take-home[-large].<html|pdf>`: one reading as one file."""
    choir = await choir_of(request)
    home = parts_of(request).services.papers.home
    gathering = home.day(choir.id, _date(request.match_info["on"]), _wished(request))
    return await _home(request, choir, gathering)


def _wished(request: web.Request) -> PageOptions | None:
    """How these sheets alone are written out, None for the choir's own way; faults count as no."""
    if request.query.get("page") != "own":
        return None
    fields = {name: request.query.getall(name) for name in request.query}
    return read_page(FormFields(fields, parts_of(request).pages.say))


async def _home(
    request: web.Request, choir: Choir, gathering: Awaitable[HomeFolder]
) -> web.StreamResponse:
    room = parts_of(request)
    say, kind = room.pages.say, request.match_info["kind"]
    try:
        folder = await gathering
    except Refused as refused:
        return await _page(request, choir, status=409, wish=refusal(say, refused))
    name = f"{say('takehome.file')}-{folder.begins}"
    if kind == "html":
        tune = await tune_of(room.services, folder)
        data = await asyncio.to_thread(home_page, folder, room.pages, room.assets, tune)
    else:
        data = await asyncio.to_thread(
            printed_week, folder, say, large=bool(request.match_info["size"])
        )
    return _file(data, f"{name}{request.match_info['size']}.{kind}", kind)


async def other_ways(request: web.Request) -> web.StreamResponse:
    """`/desk/choir/<id>/other-ways[-large].pdf?week=<date>`: the week's lines read other ways."""
    room, choir = parts_of(request), await choir_of(request)
    say = room.pages.say
    try:
        folder = await room.services.papers.home.week(choir.id, _date(request.query.get("week")))
    except Refused as refused:
        return await _page(request, choir, status=409, wish=refusal(say, refused))
    tune = await tune_of(room.services, folder)
    size = request.match_info["size"]
    data = await asyncio.to_thread(printed_ways, folder, say, tune, large=bool(size))
    return _file(data, f"{say('way.file')}-{folder.begins}{size}.pdf", "pdf")


async def substitute(request: web.Request) -> web.StreamResponse:
    """`/desk/choir/<id>/substitute[-large].<html|pdf>`: the folder as one file."""
    room, choir = parts_of(request), await choir_of(request)
    say, kind = room.pages.say, request.match_info["kind"]
    try:
        folder = await room.services.papers.subs.folder(choir.id)
    except (Refused, InputProblems) as problem:
        return await _page(request, choir, status=409, wish=_words(room, problem))
    if kind == "html":
        data = await asyncio.to_thread(sub_page, folder, room.pages, room.assets)
    else:
        data = await asyncio.to_thread(
            printed_sub, folder, say, large=bool(request.match_info["size"])
        )
    return _file(data, f"{say('sub.file')}{request.match_info['size']}.{kind}", kind)


async def draw(request: web.Request) -> web.StreamResponse:
    """`POST .../paper/draw`: five new sheets for a substitute."""
    room, choir = parts_of(request), await choir_of(request)
    await read_posted(request)
    try:
        await room.services.papers.subs.draw(choir.id)
    except (Refused, InputProblems) as problem:
        return await _page(request, choir, status=409, wish=_words(room, problem))
    raise web.HTTPSeeOther(f"/desk/choir/{choir.id}/paper?done=drawn#substitute")


async def was_read(request: web.Request) -> web.StreamResponse:
    """`POST .../paper/<number>/read|unread`: the class read a sheet, or did not after all."""
    room, choir = parts_of(request), await choir_of(request)
    await read_posted(request)
    number, said = int(request.match_info["number"]), request.match_info["said"]
    try:
        await room.services.papers.subs.read(choir.id, number, was_read=said == "read")
    except Refused as refused:
        return await _page(request, choir, status=409, wish=refusal(room.pages.say, refused))
    raise web.HTTPSeeOther(f"/desk/choir/{choir.id}/paper#substitute")


async def _page(
    request: web.Request, choir: Choir, *, status: int, wish: str | None = None
) -> web.StreamResponse:
    room = parts_of(request)
    today = today_of(room, choir)
    monday = today - timedelta(days=today.weekday())
    sheets = await room.services.papers.subs.sheets(choir.id)
    sequence = room.services.content.sequences.get(choir.steps.sequence)
    stale = sequence is not None and any(
        sheet.read_on is None
        and (sheet.reading.steps.pitch, sheet.reading.steps.rhythm)
        not in _near(choir, lower_steps(choir.steps, sequence))
        for sheet in sheets
    )
    values = {
        "choir": choir,
        "weeks": (
            (room.pages.say("takehome.week"), monday),
            (room.pages.say("takehome.next_week"), monday + _WEEK),
        ),
        "sheets": sheets,
        "films": await _films(room, choir),
        "stale": stale,
        "wish": wish,
        "unders": tuple(Under),
        "rhythm_names": tuple(RhythmNames),
        "fields": page_fields(choir.presentation.page),
        "done": room.pages.say("sub.drawn") if request.query.get("done") == "drawn" else None,
    }
    return desk_page(request, "paper.html", values, status=status)


async def _films(room: Parts, choir: Choir) -> list[tuple[date, str, str]]:
    """(date, address, file's name) of each film of the latest sheets, the newest day first."""
    up = await room.services.readings.board(choir.id, _DAYS_OF_FILMS)
    name = room.pages.say("clip.file_name")
    views = [
        sheet_of(card, choir, room.pages.say, today=card.on, unfolded=False)
        for card in reversed(up)
    ]
    return [
        (view.card.on, part.clip, f"{name}-{view.card.on}-{part.number}.mp4")
        for view in views
        for part in view.parts
        if part.clip
    ]


def _near(choir: Choir, lower: tuple[str, str]) -> set[tuple[str, str]]:
    """The steps at which a folder for this choir may have been drawn."""
    pitch, rhythm = lower
    own = choir.steps
    return {
        (pitch, rhythm),
        (own.pitch, rhythm),
        (pitch, own.rhythm),
        (own.pitch, own.rhythm),
    }


def _words(room: Parts, problem: Refused | InputProblems) -> str:
    return refusal(room.pages.say, problem) if isinstance(problem, Refused) else str(problem)


def _file(data: bytes, name: str, kind: str) -> web.Response:
    headers = {
        "Content-Type": _TYPES[kind],
        "Content-Disposition": f'attachment; filename="{name}"',
        "Content-Security-Policy": _POLICY,
    }
    return web.Response(body=data, headers=headers)


def _date(asked: str | None) -> date | None:
    if asked is None:
        return None
    try:
        return date.fromisoformat(asked)
    except ValueError as error:
        raise web.HTTPNotFound from error
