"""A story on the stage: the scene, then its line, then the paths, all by a clicker's keys."""

from __future__ import annotations

import json
from collections.abc import Mapping

from aiohttp import web

from bot.activities.calendar import local_day
from bot.activities.story_run import (
    Advanced,
    Chosen,
    Ended,
    Event,
    Paused,
    Phase,
    Resumed,
    Undone,
    Venue,
    VoteClosed,
    VoteOpened,
)
from bot.activities.vote import of_hands
from bot.chat.room.pages import refusal
from bot.chat.room.parts import parts_of
from bot.chat.room.posted import read_posted
from bot.chat.room.stage_ticket import require_ticket, ticket_of
from bot.chat.room.story_sheet import path_of, strips_of
from bot.errors import Refused
from bot.service.story_words import outcome_words
from bot.service.tellings import Told
from bot.wording import Wording

_MOST_HANDS = 400


async def story(request: web.Request) -> web.StreamResponse:
    """`/stage/<choir>/story`: the scene that is up; `?sung=` line or finale, once it was."""
    room, choir_id = parts_of(request), request.match_info["choir"]
    choir = await room.services.choirs.get(choir_id)
    told = await room.services.stories.tellings.now(choir_id)
    say = room.pages.say
    if told is None:
        return room.pages.page("stage_none.html", {"sentence": say("telling.none")})
    line = await room.services.stories.tellings.reading(choir_id)
    finale = await room.services.stories.tellings.finale(choir_id) if told.scene.ending else None
    score = {
        "ticket": ticket_of(request),
        "here": f"/stage/{choir_id}/story",
        "choir": f"/stage/{choir_id}",
        "line": _to_line(choir_id, line),
        "finale": _to_line(choir_id, finale),
        "sung": request.query.get("sung", ""),
        "phase": told.run.phase.value,
        "paused": told.run.paused,
        "inClass": told.run.venue is Venue.CLASS,
        "ending": told.scene.ending,
        "path": told.run.path,
        "counts": None if told.run.outcome is None else told.run.outcome.counts,
        "words": _words(say, told),
    }
    values: Mapping[str, object] = {
        "choir": choir,
        "title": told.music.story.title,
        "number": len(told.run.scenes),
        "text": told.scene.text.split("\n\n"),
        "way": told.scene.line.way if told.scene.line else None,
        "strips": strips_of(told, choir.presentation.solfa, room.services.content),
        "outcome": outcome_words(told.run.outcome, say),
        "score": json.dumps(score, separators=(",", ":")),
    }
    return room.pages.page("story_stage.html", values)


async def call(request: web.Request) -> web.StreamResponse:
    """`POST /stage/<choir>/story/<call>`: what the director calls; where to look then."""
    require_ticket(request)
    room, posted = parts_of(request), await read_posted(request)
    choir_id, say = request.match_info["choir"], room.pages.say
    choir = await room.services.choirs.get(choir_id)
    today = local_day(room.services.clock.now(), choir.zone)
    tellings = room.services.stories.tellings
    try:
        match request.match_info["call"]:
            case "count":
                counts = _counts(posted.text("counts"))
                if (told := await tellings.now(choir_id)) and told.run.phase is Phase.TELLING:
                    await tellings.call(choir_id, VoteOpened())
                event: Event = VoteClosed(outcome=of_hands(counts))
            case "choose":
                event = Chosen(path=path_of(posted.text("path")))
            case "advance":
                event = Advanced(on=today)
            case "pause":
                event = Paused()
            case "resume":
                event = Resumed(on=today)
            case "undo":
                event = Undone()
            case _:
                event = Ended()
        told = await tellings.call(choir_id, event)
    except Refused as refused:
        return web.json_response({"sentence": refusal(say, refused)}, status=409)
    over = told.run.phase is Phase.ENDED
    return web.json_response({"to": f"/stage/{choir_id}" + ("" if over else "/story")})


def _to_line(choir_id: str, reading_id: str | None) -> str | None:
    return None if reading_id is None else f"/stage/{choir_id}?reading={reading_id}"


def _counts(text: str) -> tuple[int, ...]:
    parts = text.split(",")
    if not all(part.isascii() and part.isdigit() for part in parts) or not 2 <= len(parts) <= 3:
        raise web.HTTPBadRequest
    counts = tuple(int(part) for part in parts)
    if max(counts) > _MOST_HANDS:
        raise web.HTTPBadRequest
    return counts


def _words(say: Wording, told: Told) -> dict[str, str]:
    """Every sentence that the script may show; gaps stay open as {name}."""
    return {
        "scene": say("telling.stage.scene"),
        "toLine": say("telling.stage.to_line"),
        "toVote": say("telling.stage.to_vote"),
        "vote": say("telling.stage.vote"),
        "question": say("telling.stage.question"),
        "chosen": say("telling.stage.chosen"),
        "paused": say("telling.stage.paused"),
        "finale": say("telling.stage.finale"),
        "end": say("telling.stage.end"),
        "marked": say("telling.stage.marked", path="{path}", hands="{hands}"),
        "atHome": say("telling.stage.at_home"),
        "lost": say("stage.lost"),
        "moment": say("stage.moment"),
        "ticket": say("stage.ticket"),
        "dark": say("stage.dark"),
        "stop": say("telling.stage.stop") if told.scene.stop else "",
    }
