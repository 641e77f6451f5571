"""The range test at the desk: two notes for each part, and what was tested month by month."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from itertools import groupby

from aiohttp import web

from bot.activities.choir import Choir
from bot.activities.ranges import RangeTest
from bot.chat.room.entry import desk_page
from bot.chat.room.pages import refusal
from bot.chat.room.parts import choir_of, parts_of
from bot.chat.room.posted import by_field, read_posted
from bot.errors import Fault, InputProblems, Refused


async def form(request: web.Request) -> web.StreamResponse:
    """`/desk/choir/<id>/ranges`: two notes for each part."""
    done = parts_of(request).pages.say("ranges.done") if "done" in request.query else None
    return await _page(request, await choir_of(request), {}, status=200, done=done)


async def test(request: web.Request) -> web.StreamResponse:
    """`POST .../ranges`: today's test of the parts that were typed in."""
    room, choir, posted = parts_of(request), await choir_of(request), await read_posted(request)
    try:
        tested = await room.services.papers.ranges.test(choir, posted.fields)
    except InputProblems as problems:
        return await _page(request, choir, posted.fields, status=422, faults=problems.faults)
    except Refused as refused:
        faults = [Fault(place="", problem=refusal(room.pages.say, refused))]
        return await _page(request, choir, posted.fields, status=409, faults=faults)
    if tested.trouble is not None:
        kept = await room.services.choirs.get(choir.id)
        trouble = room.pages.say("ranges.no_line", why=tested.trouble)
        return await _page(request, kept, {}, status=200, trouble=trouble)
    raise web.HTTPSeeOther(f"/desk/choir/{choir.id}/ranges?done=yes")


async def _page(
    request: web.Request,
    choir: Choir,
    fields: Mapping[str, Sequence[str]],
    *,
    status: int,
    faults: Sequence[Fault] = (),
    done: str | None = None,
    trouble: str | None = None,
) -> web.StreamResponse:
    room = parts_of(request)
    tests = await room.services.papers.ranges.tests(choir.id)
    labels = {voice.voice: voice.label for voice in choir.voices}
    values = {
        "choir": choir,
        "fields": fields,
        "faults": by_field(faults),
        "done": done,
        "trouble": trouble,
        "months": [
            (room.pages.say.date(on, "LLLL y"), list(group))
            for on, group in groupby(tests, key=_month)
        ],
        "labels": labels,
    }
    return desk_page(request, "ranges.html", values, status=status)


def _month(test: RangeTest) -> date:
    return test.on.replace(day=1)
