"""Matches at the desk: heads in, sides drawn, and what a term's matches add up to."""

from __future__ import annotations

from aiohttp import web

from bot.activities.choir import Choir
from bot.activities.match_sides import Heads
from bot.chat.room.entry import desk_page
from bot.chat.room.pages import refusal
from bot.chat.room.parts import Parts, parts_of
from bot.chat.room.posted import Posted, read_posted
from bot.errors import Fault, InputProblems, Refused
from bot.service.match_values import MatchWish, Played

_MINUTES_A_TURN = 1.5  # of one side: study, reading, verdict, a throw


async def form(request: web.Request) -> web.StreamResponse:
    """`/desk/choir/<id>/match`: set one up, or go on with today's; the matches of the term."""
    return await _page(request, await _choir(request), status=200)


async def set_up(request: web.Request) -> web.StreamResponse:
    """`POST /desk/choir/<id>/match`: draw the sides and all lines."""
    room, choir = parts_of(request), await _choir(request)
    posted = await read_posted(request)
    try:
        wish = _wish(room, choir, posted)
        await room.services.matches.set_up(choir.id, wish)
    except InputProblems as problems:
        faults = tuple(fault.problem for fault in problems.faults)
        return await _page(request, choir, status=422, faults=faults, posted=posted)
    except Refused as refused:
        faults = (refusal(room.pages.say, refused),)
        return await _page(request, choir, status=409, faults=faults, posted=posted)
    raise web.HTTPSeeOther(f"/desk/choir/{choir.id}/match")


def _wish(room: Parts, choir: Choir, posted: Posted) -> MatchWish:
    """What the form says; InputProblems with every field that is no number."""
    heads, faults = [], []
    for number, voice in enumerate(choir.voices):
        given = posted.text(f"heads-{number}").strip()
        if given.isascii() and given.isdecimal() and len(given) < 4:
            heads.append(Heads(label=voice.label, count=int(given)))
        else:
            problem = room.pages.say("match.form.numbers", part=voice.label)
            faults.append(Fault(place=f"heads-{number}", problem=problem))
    try:
        measures, turns = int(posted.text("measures")), int(posted.text("turns"))
    except ValueError:
        measures = turns = 0
    if faults:
        raise InputProblems(faults)
    return MatchWish(heads=tuple(heads), measures=measures, turns=turns)


async def _page(
    request: web.Request,
    choir: Choir,
    *,
    status: int,
    faults: tuple[str, ...] = (),
    posted: Posted | None = None,
) -> web.StreamResponse:
    room = parts_of(request)
    matches = room.services.matches
    played, term = await matches.open_of(choir.id), await matches.term(choir.id)
    rules, given = matches.rules, posted or Posted()
    last = {part.label: str(part.count) for part in await matches.last_heads(choir.id)}
    values = {
        "choir": choir,
        "faults": faults,
        "parts": [
            (number, voice.label, given.text(f"heads-{number}") or last.get(voice.label, ""))
            for number, voice in enumerate(choir.voices)
        ],
        "lengths": sorted(rules.study.items()),
        "turns": rules.turns,
        "minutes": round(2 * rules.turns * _MINUTES_A_TURN),
        "played": played,
        "draw": None if played is None else _draw(played),
        "term": term,
        "points": sum(match.left + match.right for match in term),
    }
    return desk_page(request, "match_desk.html", values, status=status)


def _draw(played: Played) -> dict[str, object]:
    """Which numbers of each part stand where, who begins, and how many rows there are."""
    sides, rules = played.match.setup.sides, played.match.setup.rules
    return {
        "parts": [
            (
                part.label,
                ((rules.left, _numbers(part.left)), (rules.right, _numbers(part.right))),
            )
            for part in sides.parts
        ],
        "begins": rules.name(sides.begins),
        "rows": sides.rows,
    }


def _numbers(numbers: tuple[int, ...]) -> str:
    return ", ".join(map(str, numbers))


async def _choir(request: web.Request) -> Choir:
    return await parts_of(request).services.choirs.get(request.match_info["choir"])
