"""Matches at the desk: heads in, sides drawn, and what a term's matches add up to."""

from __future__ import annotations

import re

from aiohttp import web

from bot.activities.choir import Choir
from bot.activities.match_rules import MOST_TURNS, Rules, Side
from bot.activities.match_sides import Heads
from bot.chat.room.entry import desk_page
from bot.chat.room.making import on_its_way
from bot.chat.room.match_words import numbers, part_name
from bot.chat.room.pages import refusal
from bot.chat.room.parts import Parts, choir_of, parts_of
from bot.chat.room.posted import Posted, read_posted
from bot.errors import Fault, InputProblems, Refused
from bot.service.makings import Made
from bot.service.match_values import MatchWish, Played
from bot.service.match_wish import wish_json
from bot.wording import Wording

_ROWS = re.compile(r"\d{1,3}(\s*[+,]\s*\d{1,3})*", re.ASCII)  # 9, or 5 + 4
_MINUTES_A_TURN = 1.5  # of one side: study, reading, verdict, a throw


async def form(request: web.Request) -> web.StreamResponse:
    """`/desk/choir/<id>/match`: set one up, or go on with today's; the matches of the term."""
    return await _page(request, await choir_of(request), status=200)


async def set_up(request: web.Request) -> web.StreamResponse:
    """`POST /desk/choir/<id>/match`: have the sides and all lines drawn, once however often."""
    room, choir = parts_of(request), await choir_of(request)
    posted = await read_posted(request)
    try:
        wish = _wish(room, choir, posted)
        await room.services.matches.may_set_up(choir.id, wish)
        await room.services.makings.ask(choir.id, Made.MATCH, wish_json(wish))
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
        if _ROWS.fullmatch(given):
            rows = [int(row) for row in re.findall(r"\d+", given)]
            heads.append(Heads.in_rows(voice.label, rows))
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
    making, failed = await on_its_way(room, choir.id, Made.MATCH)
    rules, given = await matches.house.of(choir.id), posted or Posted()
    last = {
        part.label: " + ".join(map(str, part.standing))
        for part in await matches.last_heads(choir.id)
    }
    values = {
        "choir": choir,
        "faults": (*failed, *faults),
        "making": making,
        "parts": [
            (number, voice.label, given.text(f"heads-{number}") or last.get(voice.label, ""))
            for number, voice in enumerate(choir.voices)
        ],
        "lengths": sorted(rules.study.items()),
        "turns": _chosen(given, rules),
        "most_turns": MOST_TURNS,
        "minutes": round(2 * rules.turns * _MINUTES_A_TURN),
        "played": played,
        "draw": None if played is None else _draw(played, room.pages.say),
        "term": term,
        "points": sum(match.left + match.right for match in term),
    }
    return desk_page(request, "match_desk.html", values, status=status)


def _chosen(given: Posted, rules: Rules) -> int:
    """The turns that were chosen, or what the rules offer first."""
    text = given.text("turns")
    return int(text) if text.isascii() and text.isdecimal() and len(text) < 3 else rules.turns


def _draw(played: Played, say: Wording) -> dict[str, object]:
    """Which numbers of each part stand where, who begins, and how many groups there are."""
    sides, rules = played.match.setup.sides, played.match.setup.rules
    return {
        "parts": [
            (
                part_name(part, say),
                ((rules.left, numbers(part.left)), (rules.right, numbers(part.right))),
            )
            for part in sides.parts
        ],
        "sizes": [(rules.name(side), sides.size(side)) for side in Side],
        "begins": rules.name(sides.begins),
        "groups": sides.groups,
    }
