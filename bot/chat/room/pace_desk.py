"""A choir's pace at the desk: a proposal for each track with its evidence; one click decides."""

from __future__ import annotations

from aiohttp import web

from bot.activities.choir import Choir
from bot.activities.pacing import Evidence, Move, Proposal
from bot.chat.room.entry import desk_page
from bot.chat.room.pages import refusal
from bot.chat.room.parts import choir_of, parts_of
from bot.chat.room.posted import read_posted
from bot.errors import Refused
from bot.music.sequence import Track
from bot.service.pacing import Pace
from bot.wording import Wording


async def page(request: web.Request) -> web.StreamResponse:
    """`/desk/choir/<id>/pace`."""
    return await _page(request, await choir_of(request), status=200)


async def move(request: web.Request) -> web.StreamResponse:
    """`POST /desk/choir/<id>/pace`: set a track one step on or back, as the director decided."""
    room, choir = parts_of(request), await choir_of(request)
    posted = await read_posted(request)
    try:
        track = Track(posted.text("track"))
    except ValueError as error:
        raise web.HTTPBadRequest from error
    try:
        await room.services.pacing.move(choir.id, track, posted.text("to"))
    except Refused as refused:
        return await _page(request, choir, status=409, fault=refusal(room.pages.say, refused))
    raise web.HTTPSeeOther(f"/desk/choir/{choir.id}/pace?done=moved")


async def _page(
    request: web.Request, choir: Choir, *, status: int, fault: str | None = None
) -> web.StreamResponse:
    room = parts_of(request)
    say = room.pages.say
    try:
        pace = await room.services.pacing.pace(choir.id)
    except Refused:
        pace = Pace(choir=choir, proposals=(), weak=(), names={})
        fault = say("pace.sequence")
    values = {
        "choir": choir,
        "proposals": [(each, _words(say, each, pace)) for each in pace.proposals],
        "weak": [pace.names[step] for step in pace.weak],
        "fault": fault,
        "done": say("pace.done") if request.query.get("done") == "moved" else None,
    }
    return desk_page(request, "pace.html", values, status=status)


def _words(say: Wording, proposal: Proposal, pace: Pace) -> dict[str, str]:
    evidence = proposal.evidence
    where = say("pace.on") if proposal.move is Move.ON else say("pace.back")
    return {
        "step": say(
            "pace.step",
            track=say(f"form.track.{proposal.track}"),
            name=pace.names.get(proposal.step, proposal.step),
        ),
        "evidence": f"{say('pace.days', count=evidence.days)} {_told(say, evidence)}",
        "go": ""
        if proposal.to is None
        else say("pace.go", where=where, name=pace.names[proposal.to]),
    }


def _told(say: Wording, evidence: Evidence) -> str:
    if not evidence.told:
        return say("pace.untold")
    return say(
        "pace.told",
        count=evidence.told,
        steady=round(100 * evidence.steady),
        not_yet=round(100 * evidence.not_yet),
        slips=evidence.slips,
    )
