"""Music looked at by the desk: what it needs, what is hard in it, who can sing it. Nothing kept."""

from __future__ import annotations

import asyncio
from collections.abc import Mapping, Sequence
from datetime import date

from aiohttp import web
from markupsafe import Markup

from bot.activities.choir import Choir
from bot.chat.room.desk import Done, back_to_day, days_of
from bot.chat.room.entry import desk_page
from bot.chat.room.pages import refusal
from bot.chat.room.parts import Parts, choir_of, parts_of
from bot.chat.room.posted import FILE_LIMIT, Posted, read_posted
from bot.errors import Fault, InputProblems, Refused
from bot.music.letters import Dialect
from bot.music.pitch import Key
from bot.notation.brought import KINDS, Brought, read_music, read_written
from bot.service.criteria import criteria_choices
from bot.service.music_desk import Looked


async def form(request: web.Request) -> web.StreamResponse:
    """`/desk/choir/<id>/check`: where music goes in."""
    return await _page(request, await choir_of(request), {}, status=200)


async def look(request: web.Request) -> web.StreamResponse:
    """`POST .../check`: what was found, or every fault of the music."""
    room, choir, posted = parts_of(request), await choir_of(request), await read_posted(request)
    try:
        music, name = await asyncio.to_thread(_read, room, posted)
        looked = await room.services.papers.music.look(choir, music, name, posted.text("criteria"))
    except InputProblems as problems:
        return await _page(request, choir, posted.fields, status=422, faults=problems.faults)
    return await _page(request, choir, posted.fields, status=200, looked=looked)


async def use(request: web.Request) -> web.StreamResponse:
    """`POST .../check/use`: what was looked at becomes the reading of a coming day."""
    room, choir, posted = parts_of(request), await choir_of(request), await read_posted(request)
    data, name = posted.text("written").encode(), room.pages.say("own_music.title")
    try:
        on = date.fromisoformat(posted.text("on"))
    except ValueError as error:
        raise web.HTTPNotFound from error
    try:
        await room.services.readings.use_own_music(choir.id, on, data, name)
    except InputProblems as problems:
        return await _page(request, choir, {}, status=422, faults=problems.faults)
    except Refused as refused:
        faults = (Fault(place="", problem=refusal(room.pages.say, refused)),)
        return await _page(request, choir, {}, status=409, faults=faults)
    raise back_to_day(choir.id, Done.MUSIC, on)


def _read(room: Parts, posted: Posted) -> tuple[Brought, str]:
    say, file, typed = room.pages.say, posted.files.get("file"), posted.text("typed")
    if typed.strip() and file is not None and file.name:
        raise InputProblems([Fault(place="", problem=say("desk.music.both"))])
    if typed.strip():
        dialect = Dialect.CURWEN if posted.text("dialect") == Dialect.CURWEN else Dialect.MODERN
        return read_written(typed, say("look.typed_name"), dialect=dialect), say("look.typed_name")
    if file is None or (not file.name and not file.data):
        raise InputProblems([Fault(place="", problem=say("look.nothing"))])
    if file.data is None:
        limit = FILE_LIMIT // (1024 * 1024)
        raise InputProblems([Fault(place="", problem=say("desk.music.large", limit=limit))])
    return read_music(file.data, file.name, key=_key(room, posted)), file.name


def _key(room: Parts, posted: Posted) -> Key | None:
    """The key that was typed for a MIDI file, None where there is none."""
    typed = posted.text("key").strip()
    try:
        return Key.parse(typed) if typed else None
    except ValueError as error:
        problem = room.pages.say("look.no_key", typed=typed)
        raise InputProblems([Fault(place="", problem=problem)]) from error


async def _page(
    request: web.Request,
    choir: Choir,
    fields: Mapping[str, Sequence[str]],
    *,
    status: int,
    faults: Sequence[Fault] = (),
    looked: Looked | None = None,
) -> web.StreamResponse:
    room = parts_of(request)
    values = {
        "choir": choir,
        "fields": fields,
        "faults": [str(fault) for fault in faults],
        "looked": looked,
        "days": [day for day in await days_of(room, choir) if day.changeable] if looked else [],
        # Drawn by this program: plain outlines without text, links, styles or scripts.
        "picture": Markup(looked.picture) if looked else "",  # noqa: S704
        "phone_picture": Markup(looked.phone_picture) if looked else "",  # noqa: S704
        "kinds": ",".join(KINDS),
        "dialects": tuple(Dialect),
        "criteria": criteria_choices(room.services.content),
    }
    return desk_page(request, "check.html", values, status=status)
