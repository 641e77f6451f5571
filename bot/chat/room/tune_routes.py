"""Mystery tunes: the collection at the desk, a tune on the stage, the same tune on the board."""

from __future__ import annotations

import json
from dataclasses import asdict

from aiohttp import web

from bot.activities.choir import Hearing
from bot.chat.room.board import today_of
from bot.chat.room.entry import desk_page
from bot.chat.room.pages import refusal
from bot.chat.room.parts import Parts, parts_of
from bot.chat.room.posted import read_posted
from bot.chat.room.safety import Handler
from bot.chat.room.sheets import SheetView, sheet_of
from bot.chat.room.stage_ticket import require_ticket, ticket_of
from bot.errors import Refused
from bot.music.tune import Tune
from bot.service.mystery import Mystery
from bot.service.tune_book import origin_of, told_of

_REFUSED = 409


async def collection(request: web.Request) -> web.StreamResponse:
    """`/desk/tunes`: every tune with its step and origin, on or off."""
    room = parts_of(request)
    states = await room.services.play.mysteries.tunes()
    say = room.pages.say
    values = {
        "states": states,
        "told": {
            tune.id: (*told_of(tune, say), say("tune.free", why=tune.free))
            for tune in (state.placed.tune for state in states)
        },
        "origins": {state.placed.tune.id: origin_of(state.placed.tune, say) for state in states},
    }
    return desk_page(request, "tunes.html", values)


async def switch(request: web.Request) -> web.StreamResponse:
    """`POST /desk/tunes/<id>/on|off`: for every choir of the house."""
    room, found = parts_of(request), request.match_info
    await read_posted(request)
    try:
        await room.services.play.mysteries.switch(found["tune"], on=found["state"] == "on")
    except Refused as refused:
        raise web.HTTPNotFound from refused
    raise web.HTTPSeeOther(f"/desk/tunes#{found['tune']}")


async def begin(request: web.Request) -> web.StreamResponse:
    """`POST /stage/<choir>/tune`: another tune for the choir; where it stands."""
    require_ticket(request)
    room, choir_id = parts_of(request), request.match_info["choir"]
    try:
        reading = await room.services.play.mysteries.begin(choir_id)
    except Refused as refused:
        if not refused.key.startswith("tune."):
            raise
        sentence = refusal(room.pages.say, refused)
        return web.json_response({"sentence": sentence}, status=_REFUSED)
    return web.json_response({"to": f"/stage/{choir_id}/tune?reading={reading}"})


async def stage(request: web.Request) -> web.StreamResponse:
    """`/stage/<choir>/tune?reading=`: the page, the key, the names, and the tune at the end."""
    room, choir_id = parts_of(request), request.match_info["choir"]
    found = await _asked(room, choir_id, request.query.get("reading"))
    if found is None:
        none = {"sentence": room.pages.say("tune.nothing_staged")}
        return room.pages.page("stage_none.html", none, status=_REFUSED)
    line = await room.services.lesson.line(choir_id, found.card.reading_id)
    say, card = room.pages.say, found.card
    stops = [stop for stop in _STOPS if stop != "start" or card.gives_pitch]
    score = {
        "ticket": ticket_of(request),
        "media": f"/stage/{choir_id}/{card.reading_id}",
        "choir": f"/stage/{choir_id}",
        "stops": stops,
        "signs": [asdict(sign) for sign in line.turned.page[0]],
        "pulses": line.turned.pulses,
        "pickup": line.turned.pickup,
        "beats": card.pulses,
        "countIn": card.count_in,
        "bpm": card.tempo_bpm,
        "hears": found.choir.hearing is not Hearing.NEVER,
        "words": {
            "stops": {stop: say(f"tune.stop.{stop}") for stop in _STOPS},
            "hints": {stop: say(f"tune.hint.{stop}") for stop in _STOPS},
            "lost": say("stage.lost"),
            "moment": say("stage.moment"),
            "ticket": say("stage.ticket"),
            "back": say("tune.back"),
        },
    }
    values = {"card": card, "names": found.names, "score": json.dumps(score)}
    return room.pages.page("tune_stage.html", values)


async def tell(request: web.Request) -> web.StreamResponse:
    """`POST /stage/<choir>/<reading>/tell`: its name and its history."""
    require_ticket(request)
    room, found = parts_of(request), request.match_info
    tune = await room.services.play.mysteries.tell(found["choir"], found["reading"])
    told = told_of(tune, room.pages.say)
    return web.json_response({"title": tune.title, "told": told})


async def board(request: web.Request) -> web.StreamResponse:
    """`/choir/<choir>/tune`: the tune that is before the class, to be named by a button."""
    room = parts_of(request)
    found = await room.services.play.mysteries.latest(request.match_info["choir"])
    return await _board(request, found, None, None)


async def guess(request: web.Request) -> web.StreamResponse:
    """`POST /choir/<choir>/tune`: whether a name is right; nothing of it is kept."""
    room, choir_id = parts_of(request), request.match_info["choir"]
    posted = await read_posted(request)
    found = await _asked(room, choir_id, posted.text("reading"))
    if found is None:
        return await _board(request, None, None, None)
    name = posted.text("name")
    tune = await room.services.play.mysteries.guess(choir_id, found.card.reading_id, name)
    return await _board(request, found, tune, name)


_STOPS = ("ready", "key", "start", "inward", "name")


async def _board(
    request: web.Request, found: Mystery | None, tune: Tune | None, name: str | None
) -> web.StreamResponse:
    room = parts_of(request)
    choir = await room.services.choirs.get(request.match_info["choir"])
    sheet: SheetView | None = None
    if found is not None:
        today = today_of(room, choir)
        part = request.query.get("part", "1")
        sheet = sheet_of(
            found.card,
            choir,
            room.pages.say,
            today=today,
            unfolded=True,
            staff=int(part) - 1 if part in "123456789" and part else 0,
        )
        tune = tune or found.told
    values = {
        "choir": choir,
        "mystery": found,
        "sheet": sheet,
        "name": name,
        "tune": tune,
        "told": () if tune is None else told_of(tune, room.pages.say),
        "hears": found is not None
        and found.told is not None
        and choir.hearing is not Hearing.NEVER,
    }
    return room.pages.page("tune_board.html", values)


async def _asked(room: Parts, choir_id: str, reading_id: str | None) -> Mystery | None:
    mysteries = room.services.play.mysteries
    if not reading_id:
        return await mysteries.latest(choir_id)
    return await mysteries.find(choir_id, reading_id)


_CHOIR = "{choir:[A-Za-z0-9_-]{1,64}}"
_READING = "{reading:[A-Za-z0-9_-]{1,64}}"

OPEN_PAGES: tuple[tuple[str, Handler], ...] = ((f"/choir/{_CHOIR}/tune", board),)
OPEN_CHANGES: tuple[tuple[str, Handler], ...] = (
    (f"/choir/{_CHOIR}/tune", guess),
    (f"/stage/{_CHOIR}/tune", begin),
    (f"/stage/{_CHOIR}/{_READING}/tell", tell),
)
DESK_PAGES: tuple[tuple[str, Handler], ...] = (
    ("/desk/tunes", collection),
    (f"/stage/{_CHOIR}/tune", stage),
)
DESK_CHANGES: tuple[tuple[str, Handler], ...] = (
    ("/desk/tunes/{tune:[a-z0-9-]{1,64}}/{state:on|off}", switch),
)
