"""School days at the desk: a calendar file comes in, its days are chosen, nothing else is kept."""

from __future__ import annotations

import asyncio
from datetime import date

from aiohttp import web

from bot.activities.choir import Choir
from bot.chat.room.board import today_of
from bot.chat.room.desk import Done
from bot.chat.room.entry import desk_page
from bot.chat.room.pages import refusal
from bot.chat.room.parts import Parts, choir_of, parts_of
from bot.chat.room.posted import read_posted
from bot.errors import Fault, InputProblems, Refused
from bot.service.days_off import write_days_off
from bot.service.school_calendar import LARGEST_BYTES
from bot.service.school_days import Offer, chosen_days, offer_days, take_days_off
from bot.wording import Wording


async def form(request: web.Request) -> web.StreamResponse:
    """`/desk/choir/<id>/days`: the days off as they are, and where a calendar file goes in."""
    return await _page(request, await choir_of(request), status=200)


async def read(request: web.Request) -> web.StreamResponse:
    """`POST .../days`: the events of the file, to be ticked."""
    room, choir = parts_of(request), await choir_of(request)
    say, file = room.pages.say, (await read_posted(request)).files.get("file")
    try:
        if file is None or (not file.name and not file.data):
            raise InputProblems([Fault(place="", problem=say("desk.music.none"))])
        if file.data is None:
            limit = LARGEST_BYTES // (1024 * 1024)
            raise InputProblems([Fault(place="", problem=say("calendar.large", limit=limit))])
        today = today_of(room, choir)
        offer = await asyncio.to_thread(offer_days, file.data, file.name, choir, today, say)
    except InputProblems as problems:
        faults = tuple(str(fault) for fault in problems.faults)
        return await _page(request, choir, status=422, faults=faults)
    return await _page(request, choir, status=200, offer=offer)


async def take(request: web.Request) -> web.StreamResponse:
    """`POST .../days/take`: the ticked days become days off, of this choir or of all."""
    room, choir = parts_of(request), await choir_of(request)
    say, posted = room.pages.say, await read_posted(request)
    try:
        days = chosen_days(posted.fields.get("days", ()), say)
        taking = await _taking(room, choir, everybody=posted.text("for") == "all")
        await take_days_off(room.services.choirs, taking, days)
    except InputProblems as problems:
        faults = tuple(str(fault) for fault in problems.faults)
        return await _page(request, choir, status=422, faults=faults)
    except Refused as refused:
        return await _page(request, choir, status=409, faults=(refusal(say, refused),))
    raise web.HTTPSeeOther(f"/desk/choir/{choir.id}?done={Done.SAVED.value}")


async def _taking(room: Parts, choir: Choir, *, everybody: bool) -> tuple[Choir, ...]:
    return await room.services.choirs.all() if everybody else (choir,)


async def _page(
    request: web.Request,
    choir: Choir,
    *,
    status: int,
    offer: Offer | None = None,
    faults: tuple[str, ...] = (),
) -> web.StreamResponse:
    room = parts_of(request)
    today = today_of(room, choir)
    ahead = [day for day in choir.meeting.days_off if day >= today]
    values = {
        "choir": choir,
        "offer": offer,
        "faults": faults,
        "several": len(await room.services.choirs.all()) > 1,
        "off": _spans(room.pages.say, write_days_off(ahead)),
        "short": _short_days(room.pages.say, choir, today),
        "spans": lambda event: _spans(room.pages.say, event.spans.replace(";", "\n")),
    }
    return desk_page(request, "days.html", values, status=status)


def _short_days(say: Wording, choir: Choir, today: date) -> str:
    """Coming days with another bell, as a person reads them: `Nov 25 (9:40 AM)`."""
    ahead = sorted((day.on, day.bell_at) for day in choir.meeting.short_days if day.on >= today)
    return ", ".join(
        say("calendar.short_day", day=say.date(on, "MMM d"), time=say.time(bell))
        for on, bell in ahead
    )


def _spans(say: Wording, lines: str) -> str:
    """Days as a person reads them: `Nov 26 to Nov 28, Dec 4`."""
    shown = []
    for line in lines.splitlines():
        first, _, last = line.partition(" to ")
        begins = say.date(date.fromisoformat(first), "MMM d")
        shown.append(
            say("calendar.span", first=begins, last=say.date(date.fromisoformat(last), "MMM d"))
            if last
            else begins
        )
    return ", ".join(shown)
