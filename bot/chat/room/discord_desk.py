"""The desk's page of a choir's place on Discord: the code that links it, what is missing."""

from __future__ import annotations

from enum import StrEnum

from aiohttp import web

from bot.activities.choir import Choir
from bot.chat.room.entry import desk_page
from bot.chat.room.parts import Parts, choir_of, parts_of
from bot.chat.room.posted import read_posted
from bot.service.discord_links import LinkCode
from bot.service.policy import policy


class DiscordDone(StrEnum):
    """What was just done, carried in the address of the page that says so."""

    UNLINKED = "unlinked"


async def discord_page(request: web.Request) -> web.StreamResponse:
    """`GET /desk/choir/<id>/discord`."""
    return await _page(request, await choir_of(request))


async def new_code(request: web.Request) -> web.StreamResponse:
    """`POST /desk/choir/<id>/discord/code`: a code for `/desk link`, shown once."""
    choir = await choir_of(request)
    await read_posted(request)
    code = await parts_of(request).services.discord.new_code(choir.id)
    return await _page(request, choir, code=code)


async def unlink(request: web.Request) -> web.StreamResponse:
    """`POST /desk/choir/<id>/discord/unlink`: asks once, then nothing goes up there any more."""
    choir, posted = await choir_of(request), await read_posted(request)
    if posted.text("sure") != "yes":
        return await _page(request, choir, sure=True)
    await parts_of(request).services.discord.unlink(choir.id)
    done = DiscordDone.UNLINKED.value
    raise web.HTTPSeeOther(f"/desk/choir/{choir.id}/discord?done={done}")


async def policy_page(request: web.Request) -> web.StreamResponse:
    """`GET /notice/discord`: the privacy policy of the bot, printed from the register."""
    room = parts_of(request)
    sheet = None
    for choir in await room.services.choirs.all():
        opening = await room.services.seating.gate.open_for(choir.id)
        if opening is not None and request.query.get("choir") in (None, choir.id):
            sheet = opening.sheet
    return room.pages.page("policy.html", {"policy": policy(room.pages.say, sheet)})


async def _page(
    request: web.Request, choir: Choir, *, code: LinkCode | None = None, sure: bool = False
) -> web.StreamResponse:
    room = parts_of(request)
    services = room.services
    values = {
        "choir": choir,
        "link": await services.discord.of_choir(choir.id),
        "open": await services.seating.gate.open_for(choir.id) is not None,
        "running": services.seating.approvals.circumstances.discord,
        "code": code,
        "sure": sure,
        "done": _done(room, request),
    }
    return desk_page(request, "discord.html", values)


def _done(room: Parts, request: web.Request) -> str | None:
    if request.query.get("done") == DiscordDone.UNLINKED:
        return room.pages.say("discord.desk.unlinked")
    return None
