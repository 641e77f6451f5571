"""Partner lines at the desk: have a set composed, look at it and hear it, put lines on a day."""

from __future__ import annotations

import secrets
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from aiohttp import web

from bot.activities.choir import Choir
from bot.chat.room.desk import Done, days_of
from bot.chat.room.entry import desk_page
from bot.chat.room.making import on_its_way
from bot.chat.room.media_routes import media_response
from bot.chat.room.pages import refusal
from bot.chat.room.parts import Parts, choir_of, parts_of
from bot.chat.room.posted import Posted, read_posted
from bot.errors import InputProblems, Refused
from bot.music.partner_pool import Stack
from bot.music.partner_set import FEWEST, MOST
from bot.music.step import Track
from bot.service.card import Media
from bot.service.makings import Made
from bot.service.partner_words import lower_words, stack_name, why_together
from bot.service.partners_desk import PartnersDesk, PartnersWish, wish_json
from bot.store.partner_sets import KeptPartners
from bot.wording import Wording

_LENGTHS = (4, 8)
_SHOWN = {"picture.svg": Media.PICTURE_SVG, "phone.svg": Media.PHONE_PICTURE}


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """One line, or several together: their numbers as an address has them, name, and why."""

    chosen: str
    name: str
    why: str


async def page(request: web.Request) -> web.StreamResponse:
    """`/desk/choir/<id>/partners`: the set that was composed last, and the form for another."""
    return await _page(request, await choir_of(request), status=200)


async def compose(request: web.Request) -> web.StreamResponse:
    """`POST /desk/choir/<id>/partners`: have a set composed, once however often it is asked."""
    room, choir, posted = parts_of(request), await choir_of(request), await read_posted(request)
    try:
        wish = _wish(posted)
        await _partners(room).may_compose(choir.id, wish)
        await room.services.makings.ask(choir.id, Made.PARTNERS, wish_json(wish))
    except (InputProblems, Refused) as problem:
        told = _words(room, problem)
        return await _page(request, choir, status=422, faults=(told,), posted=posted)
    raise web.HTTPSeeOther(f"/desk/choir/{choir.id}/partners")


async def use(request: web.Request) -> web.StreamResponse:
    """`POST .../partners/use`: one line, or several together, become the reading of a day."""
    room, choir, posted = parts_of(request), await choir_of(request), await read_posted(request)
    try:
        chosen, on = _chosen(posted.text("lines")), date.fromisoformat(posted.text("on"))
    except ValueError as error:
        raise web.HTTPNotFound from error
    try:
        await _partners(room).use(choir.id, posted.text("set"), chosen, on)
    except (InputProblems, Refused) as problem:
        return await _page(request, choir, status=409, faults=(_words(room, problem),))
    done = Done.PARTNERS if len(chosen) > 1 else Done.MUSIC
    raise web.HTTPSeeOther(f"/desk/choir/{choir.id}?done={done.value}")


async def media(request: web.Request) -> web.StreamResponse:
    """`/desk/choir/<id>/partners/<lines>/<kind>?set=`: a picture or the sound of some lines."""
    room, found = parts_of(request), request.match_info
    kind = _SHOWN.get(found["kind"], Media.ALL_SOUND)
    try:
        chosen = _chosen(found["chosen"])
        data = await _partners(room).preview(
            found["choir"], request.query.get("set", ""), chosen, kind
        )
    except Refused as refused:
        raise web.HTTPNotFound(text=refusal(room.pages.say, refused)) from refused
    return media_response(request, data, kind, keep="no-cache")


def _wish(posted: Posted) -> PartnersWish:
    """What the form says; a number that is none counts as none of those on offer."""
    lines, measures = posted.text("lines"), posted.text("measures")
    return PartnersWish(
        lines=int(lines) if lines.isascii() and lines.isdecimal() and len(lines) == 1 else 0,
        pitch=posted.text("step_pitch"),
        rhythm=posted.text("step_rhythm"),
        measures=int(measures) if measures in map(str, _LENGTHS) else None,
        seed=secrets.randbits(31),
    )


def _chosen(text: str) -> tuple[int, ...]:
    """Lines from 0 out of an address that counts from 1, such as `1-3`; ValueError."""
    return tuple(int(number) - 1 for number in text.split("-"))


async def _page(
    request: web.Request,
    choir: Choir,
    *,
    status: int,
    faults: Sequence[str] = (),
    posted: Posted | None = None,
) -> web.StreamResponse:
    room, given = parts_of(request), posted or Posted()
    making, failed = await on_its_way(room, choir.id, Made.PARTNERS)
    kept = await _partners(room).latest(choir.id)
    values = {
        "choir": choir,
        "making": making,
        "faults": (*failed, *faults),
        "kept": kept,
        "ground": kept.found.ground.text() if kept else "",
        "lower": _lower(room, kept) if kept else "",
        "lines": list(_lines(kept, room.pages.say)) if kept else [],
        "pairs": _stacks(kept.found.pairs, room.pages.say) if kept else [],
        "triples": _stacks(kept.found.triples, room.pages.say) if kept else [],
        "days": [day for day in await days_of(room, choir) if day.changeable] if kept else [],
        "counts": range(FEWEST, MOST + 1),
        "lengths": _LENGTHS,
        "sequence": room.services.content.sequences.get(choir.steps.sequence),
        "tracks": (Track.PITCH, Track.RHYTHM),
        "chosen": {
            "lines": given.text("lines") or str(FEWEST),
            "measures": given.text("measures"),
            "pitch": given.text("step_pitch") or choir.steps.pitch,
            "rhythm": given.text("step_rhythm") or choir.steps.rhythm,
        },
    }
    return desk_page(request, "partners.html", values, status=status)


def _lower(room: Parts, kept: KeptPartners) -> str:
    sequence = room.services.content.sequences.get(kept.steps.sequence)
    try:
        return lower_words(sequence, kept.steps.pitch, kept.asked, room.pages.say)
    except InputProblems:
        return ""  # the order has no such step any more


def _lines(kept: KeptPartners, say: Wording) -> Iterator[Piece]:
    for number in range(1, len(kept.found.lines) + 1):
        yield Piece(chosen=str(number), name=say("partners.line", number=number), why="")


def _stacks(stacks: Sequence[Stack], say: Wording) -> list[Piece]:
    return [
        Piece(
            chosen="-".join(str(line + 1) for line in stack.chosen),
            name=stack_name(stack, say),
            why=why_together(stack, say),
        )
        for stack in stacks
    ]


def _partners(room: Parts) -> PartnersDesk:
    return room.services.papers.partners


def _words(room: Parts, problem: Refused | InputProblems) -> str:
    return refusal(room.pages.say, problem) if isinstance(problem, Refused) else str(problem)
