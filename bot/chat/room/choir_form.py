"""The set-up form at the desk: a new choir, and everything that can be changed later."""

from __future__ import annotations

import asyncio
import secrets
from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import date, datetime
from zoneinfo import ZoneInfo, available_timezones

from aiohttp import web

from bot.activities.choir import Choir, Hearing
from bot.chat.room.entry import change_lock, desk_page
from bot.chat.room.media_routes import media_response
from bot.chat.room.pages import refusal
from bot.chat.room.parts import Parts, parts_of
from bot.chat.room.posted import Posted, read_posted
from bot.errors import Fault, InputProblems, Refused
from bot.music.page_options import Under
from bot.music.pitch import Key
from bot.music.rhythm_names import RhythmNames
from bot.music.solfa import Naming
from bot.music.step import Track
from bot.music.tonality import KeyPattern
from bot.music.voice import DEFAULT_RANGES, Clef, Voice
from bot.service.card import Media
from bot.service.choir_form import form_of, parse_choir_form
from bot.service.desk import MIN_PASSPHRASE
from bot.service.zone import machine_zone

_KEYS = (0, -1, 1, -2, 2, -3, 3, -4, 4, -5, 5)  # C, F, G, B flat, D ...: the plainest first
# Fields that stand under `More` on the set-up page; a fault in one of them opens it.
_SHORT = ("name", "voices", "step_pitch", "step_rhythm", "passphrase")
_SUMMER = 7  # from July on a director sets up the school year to come


async def new_choir_page(request: web.Request, *, first: bool = False) -> web.StreamResponse:
    """The empty form with its defaults."""
    room = parts_of(request)
    return await _page(request, _defaults(room), faults=(), first=first, choir=None, status=200)


async def add_choir(request: web.Request) -> web.StreamResponse:
    """`POST /desk/choir/new`: keep the choir, or show the form again with every fault."""
    room, posted = parts_of(request), await read_posted(request)
    first = not await room.services.choirs.all()
    faults, choir = _passphrase_faults(room, posted), None
    try:
        choir = await _parse(room, posted, secrets.token_hex(8))
    except InputProblems as problems:
        faults = [*problems.faults, *faults]
    if faults or choir is None:
        return await _page(request, posted.fields, faults=faults, first=first, choir=None)
    response = web.Response(status=303, headers={"Location": f"/desk/choir/{choir.id}?done=added"})
    passphrase = posted.text("passphrase")
    # Only a desk that has none yet takes its passphrase from here; changing one asks for the old.
    if passphrase and not await room.services.desk.has_passphrase():
        await room.services.desk.set_passphrase(passphrase)
        await change_lock(request, response)
    await room.services.choirs.add(choir)
    return response


async def example(request: web.Request) -> web.StreamResponse:
    """`GET /desk/example.svg?...`: a line such as the form's choir would read; nothing is kept.

    Where there is none, the answer says why in plain text.
    """
    room = parts_of(request)
    fields = {name: request.query.getall(name) for name in request.query}
    try:
        choir = await asyncio.to_thread(
            parse_choir_form,
            {**fields, "name": ["-"]},
            room.services.content,
            choir_id="example",
            today=_today(room, "UTC"),
        )
        data = await room.services.readings.example(choir)
    except InputProblems as problems:
        reasons = "\n".join(_words(fault) for fault in problems.faults)
        return web.Response(text=reasons, status=422)
    except Refused as refused:
        return web.Response(text=refusal(room.pages.say, refused), status=409)
    return media_response(request, data, Media.PHONE_PICTURE, keep="no-store")


async def settings_form(request: web.Request) -> web.StreamResponse:
    """`GET /desk/choir/<id>/settings`."""
    choir = await parts_of(request).services.choirs.get(request.match_info["choir"])
    return await _page(request, form_of(choir), faults=(), first=False, choir=choir, status=200)


async def change_choir(request: web.Request) -> web.StreamResponse:
    """`POST /desk/choir/<id>/settings`."""
    room, posted = parts_of(request), await read_posted(request)
    old = await room.services.choirs.get(request.match_info["choir"])
    try:
        await room.services.choirs.change(await _parse(room, posted, old.id))
    except InputProblems as problems:
        faults = problems.faults
        return await _page(request, posted.fields, faults=faults, first=False, choir=old)
    raise web.HTTPSeeOther(f"/desk/choir/{old.id}?done=saved")


async def _parse(room: Parts, posted: Posted, choir_id: str) -> Choir:
    """What the form says; a line is composed as a proof, so this is no work for the loop."""
    taken = await _name_faults(room, posted, choir_id)
    try:
        choir = await asyncio.to_thread(
            parse_choir_form,
            posted.fields,
            room.services.content,
            choir_id=choir_id,
            today=_today(room, posted.text("zone")),
        )
    except InputProblems as problems:
        raise InputProblems([*taken, *problems.faults]) from problems
    if taken:
        raise InputProblems(taken)
    return choir


async def _name_faults(room: Parts, posted: Posted, choir_id: str) -> list[Fault]:
    """Two choirs of one name could not be told apart on boards, slips and the command line.

    A choir that has shared its name so far may keep it.
    """
    name = " ".join(posted.text("name").split()).casefold()
    so_called = {e.id for e in await room.services.choirs.all() if e.name.casefold() == name}
    if not so_called or choir_id in so_called:
        return []
    return [Fault(place="name", problem=room.pages.say("form.name_taken"))]


def _today(room: Parts, zone: str) -> date:
    known = zone if zone in available_timezones() else "UTC"
    return room.services.clock.now().astimezone(ZoneInfo(known)).date()


def _passphrase_faults(room: Parts, posted: Posted) -> list[Fault]:
    """A passphrase may be set with the first choir; it is too short or it is fine."""
    text = posted.text("passphrase")
    if not text or len(text) >= MIN_PASSPHRASE:
        return []
    problem = room.pages.say("desk.passphrase.short", count=MIN_PASSPHRASE)
    return [Fault(place="passphrase", problem=problem)]


def _defaults(room: Parts) -> Mapping[str, Sequence[str]]:
    """What the empty form shows: one treble voice, the first steps, every weekday at eight."""
    sequence = next(iter(room.services.content.sequences.values()))
    zone = machine_zone()
    form = {
        "name": ["-"],
        "voices": [Voice.TREBLE.value],
        "sequence": [sequence.id],
        "step_pitch": [sequence.lowest(Track.PITCH).id],
        "zone": [zone],
    }
    choir = parse_choir_form(form, room.services.content, choir_id="new", today=_today(room, zone))
    return {**form_of(choir), "name": [""]}


async def _page(
    request: web.Request,
    fields: Mapping[str, Sequence[str]],
    *,
    faults: Sequence[Fault],
    first: bool,
    choir: Choir | None,
    status: int = 422,
) -> web.StreamResponse:
    room = parts_of(request)
    by_field: defaultdict[str, list[str]] = defaultdict(list)
    for fault in faults:
        by_field[fault.place].append(_words(fault))
    values = {
        "fields": fields,
        "faults": by_field,
        "choir": choir,
        "first": first,
        "untouched": choir is None and not faults,
        "open_more": choir is not None or any(place not in _SHORT for place in by_field),
        "offer_passphrase": first and not await room.services.desk.has_passphrase(),
        "min_passphrase": MIN_PASSPHRASE,
        "example_year": _school_year(room.services.clock.now()),
        **_choices(room),
    }
    return desk_page(request, "choir_form.html", values, status=status)


def _words(fault: Fault) -> str:
    return f"{fault.problem} ({fault.remedy})" if fault.remedy else fault.problem


def _school_year(now: datetime) -> int:
    """The year in which the school year began, or begins this summer, for dates in examples."""
    return now.year if now.month >= _SUMMER else now.year - 1


def _choices(room: Parts) -> dict[str, object]:
    """Everything that can be chosen, in the order in which it is offered."""
    return {
        "voices": tuple(Voice),
        "ranges": DEFAULT_RANGES,
        "clefs": tuple(Clef),
        "patterns": tuple(KeyPattern),
        "namings": tuple(Naming),
        "hearings": tuple(Hearing),
        "unders": tuple(Under),
        "rhythm_names": tuple(RhythmNames),
        "study_clocks": [
            (each.title, each.study_s)
            for each in room.services.content.criteria.values()
            if each.study_s is not None
        ],
        "sequences": tuple(room.services.content.sequences.values()),
        "tracks": tuple(Track),
        "zones": sorted(name for name in available_timezones() if "/" in name or name == "UTC"),
        "keys": tuple(Key(fifths=fifths).plain for fifths in _KEYS),
        "days": tuple(
            (str(n), room.pages.say.date(date(2024, 1, 1 + n), "EEEE")) for n in range(7)
        ),
    }
