"""The board of a match on the stage: a page a side, everything by clicker, live for all who look.

The page comes from behind the desk's lock and carries a ticket, as the stage does; calls and the
board's state answer to it alone. The stream of news says nothing but that something was called.
"""

from __future__ import annotations

import json
from dataclasses import asdict
from typing import Any

from aiohttp import web

from bot.activities.match_call import Call
from bot.chat.room.entry import desk_page
from bot.chat.room.match_words import board_of
from bot.chat.room.pages import draw_signs, refusal
from bot.chat.room.parts import Parts, parts_of
from bot.chat.room.posted import read_posted
from bot.chat.room.stage_ticket import require_ticket, ticket_of
from bot.errors import Refused
from bot.service.match_values import Played


async def stage(request: web.Request) -> web.StreamResponse:
    """`/stage/<choir>/match`: the board of today's match."""
    return await _board(request, "match.html")


async def referee(request: web.Request) -> web.StreamResponse:
    """`/desk/choir/<id>/referee`: the same match on a phone."""
    return await _board(request, "referee.html")


async def state(request: web.Request) -> web.StreamResponse:
    """`/stage/<choir>/match/<match>/state?seen=`: the board as it stands."""
    require_ticket(request)
    room = parts_of(request)
    try:
        seen = int(request.query.get("seen", "0"))
    except ValueError as error:
        raise web.HTTPNotFound from error
    played, told = await room.services.matches.told(request.match_info["match"], seen)
    _check(request, played.choir_id)
    return web.json_response(board_of(played, told, room.pages.say))


async def line(request: web.Request) -> web.StreamResponse:
    """`/stage/<choir>/match/<match>/line/<reading>`: what the board has to know of a line."""
    require_ticket(request)
    room, found = parts_of(request), request.match_info
    told = await room.services.matches.line(await _match_id(request), found["reading"])
    card = told.card
    return web.json_response(
        {
            "pages": [[asdict(sign) for sign in page] for page in told.pages],
            "pulses": told.pulses,
            "pickup": told.pickup,
            "beats": card.pulses,
            "countIn": card.count_in,
            "bpm": card.tempo_bpm,
            "givesPitch": card.gives_pitch,
            "key": str(draw_signs(card.key_name, room.pages.say)),
            "metre": card.metre,
            "words": room.pages.say(
                "match.line", key=card.key_name, metre=card.metre, measures=card.measures
            ),
        }
    )


async def call(request: web.Request) -> web.StreamResponse:
    """`POST /stage/<choir>/match/<match>/call`: one call on the state that was seen.

    409 with a sentence where it has no place; the caller then looks at the board as it stands.
    """
    require_ticket(request)
    room, posted = parts_of(request), await read_posted(request)
    match_id = await _match_id(request)
    try:
        wish, seen = Call.parse(posted.text("call")), int(posted.text("seen"))
    except ValueError as error:
        raise web.HTTPBadRequest from error
    try:
        played, told = await room.services.matches.call(match_id, wish, seen)
    except Refused as refused:
        sentence = {"sentence": refusal(room.pages.say, refused)}
        return web.json_response(sentence, status=409)
    room.hub.announce(_channel(match_id), str(played.revision))
    return web.json_response(board_of(played, told, room.pages.say))


async def live(request: web.Request) -> web.StreamResponse:
    """`/stage/<choir>/match/<match>/live`: a number for each call, and nothing else."""
    if request.headers.get("Sec-Fetch-Site", "same-origin") != "same-origin":
        raise web.HTTPForbidden
    room, match_id = parts_of(request), await _match_id(request)
    revision = (await room.services.matches.find(match_id)).revision
    return await room.hub.stream(request, _channel(match_id), str(revision))


def _channel(match_id: str) -> str:
    return f"match {match_id}"


async def _match_id(request: web.Request) -> str:
    """The match of the address, if it is one of the choir's."""
    found = request.match_info
    _check(request, await parts_of(request).services.matches.choir_of(found["match"]))
    return found["match"]


def _check(request: web.Request, choir_id: str) -> None:
    if choir_id != request.match_info["choir"]:
        raise Refused("match.unknown")


async def _board(request: web.Request, template: str) -> web.StreamResponse:
    room, choir_id = parts_of(request), request.match_info["choir"]
    played = await room.services.matches.latest_of(choir_id)
    choir = await room.services.choirs.get(choir_id)
    if played is None:
        return desk_page(request, "match_none.html", {"choir": choir}, status=404)
    values = {
        "choir": choir,
        "played": played,
        "board": json.dumps(_given(request, room, played), separators=(",", ":")),
    }
    return desk_page(request, template, values)


def _given(request: web.Request, room: Parts, played: Played) -> dict[str, Any]:
    """What the page's script works with."""
    base = f"/stage/{played.choir_id}"
    return {
        "ticket": ticket_of(request),
        "match": f"{base}/match/{played.id}",
        "media": base,
        "now": board_of(played, (), room.pages.say),
        "words": {
            "lost": room.pages.say("match.lost"),
            "ticket": room.pages.say("stage.ticket"),
            "clock": room.pages.say("match.clock", seconds="{seconds}"),
        },
    }
