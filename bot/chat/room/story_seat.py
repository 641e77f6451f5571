"""A seat's vote on the way that a story goes."""

from __future__ import annotations

from aiohttp import web

from bot.chat.room.pages import refusal
from bot.chat.room.parts import parts_of
from bot.chat.room.posted import read_posted
from bot.chat.room.seat import door_page, page, seat_of
from bot.chat.room.story_sheet import path_of
from bot.errors import Refused


async def vote(request: web.Request) -> web.StreamResponse:
    """`POST /seat/vote`: kept before it is answered, changeable until the close."""
    room, posted, seat = parts_of(request), await read_posted(request), await seat_of(request)
    if seat is None:
        return door_page(request, status=403, fault=room.pages.say("seat.door.again"))
    try:
        await room.services.stories.votes.vote(seat.id, path_of(posted.text("path")))
    except Refused as refused:
        fault = refusal(room.pages.say, refused)
        return await page(request, seat, status=409, fault=fault)
    raise web.HTTPSeeOther("/seat?done=voted")
