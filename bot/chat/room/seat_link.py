"""On a seat's own page: the code that links an account on Discord, and taking the account off."""

from __future__ import annotations

from aiohttp import web

from bot.chat.room import seat as seat_pages
from bot.chat.room.pages import refusal
from bot.chat.room.parts import parts_of
from bot.chat.room.posted import read_posted
from bot.errors import Refused


async def new_code(request: web.Request) -> web.StreamResponse:
    """`POST /seat/link`: a code, shown on this page once; it works once, for a day."""
    room, seat = parts_of(request), await seat_pages.seat_of(request)
    await read_posted(request)
    if seat is None:
        return seat_pages.door_page(request, status=403, fault=room.pages.say("seat.door.again"))
    try:
        code = await room.services.seating.links.new_code(seat)
    except Refused as refused:
        fault = refusal(room.pages.say, refused)
        return await seat_pages.page(request, seat, status=409, fault=fault)
    return await seat_pages.page(request, seat, status=200, link_code=code)


async def unlink(request: web.Request) -> web.StreamResponse:
    """`POST /seat/unlink`: the account's tag is gone at once."""
    room, seat = parts_of(request), await seat_pages.seat_of(request)
    await read_posted(request)
    if seat is None:
        return seat_pages.door_page(request, status=403, fault=room.pages.say("seat.door.again"))
    await room.services.seating.links.drop_account_of(seat.id)
    raise web.HTTPSeeOther("/seat?done=unlinked")
