"""A choir's plan at the desk: a month proposed, changed and kept in one form."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date, timedelta
from itertools import groupby

from aiohttp import web

from bot.activities.choir import Choir
from bot.activities.rotation import Kind, PlanDay, Why
from bot.activities.way import Way
from bot.chat.room.board import today_of
from bot.chat.room.entry import desk_page
from bot.chat.room.month import month_asked_for
from bot.chat.room.parts import choir_of, parts_of
from bot.chat.room.plan_words import refusal_words, why_words
from bot.chat.room.posted import Posted, read_posted
from bot.errors import Refused
from bot.service.plans import Plan

_FIELD = "day-"


async def page(request: web.Request) -> web.StreamResponse:
    """`/desk/choir/<id>/plan?of=<year>-<month>`: this month where none is asked for."""
    return await _page(request, await choir_of(request), status=200)


async def keep(request: web.Request) -> web.StreamResponse:
    """`POST /desk/choir/<id>/plan`: keep what the form says; all days or none."""
    room, choir = parts_of(request), await choir_of(request)
    try:
        days = _days(await read_posted(request))
        await room.services.plans.keep(choir.id, days)
    except ValueError as error:
        raise web.HTTPBadRequest from error
    except Refused as refused:
        fault = refusal_words(room.pages.say, refused)
        return await _page(request, choir, status=409, fault=fault, wished=days)
    first = min(days, default=today_of(room, choir))
    raise web.HTTPSeeOther(f"/desk/choir/{choir.id}/plan?of={first:%Y-%m}&done=kept")


async def again(request: web.Request) -> web.StreamResponse:
    """`POST /desk/choir/<id>/plan/again`: leave the month to the proposal."""
    room, choir = parts_of(request), await choir_of(request)
    await read_posted(request)
    first = month_asked_for(request, today_of(room, choir))
    await room.services.plans.propose_again(choir.id, first)
    raise web.HTTPSeeOther(f"/desk/choir/{choir.id}/plan?of={first:%Y-%m}")


async def begin_tune(request: web.Request) -> web.StreamResponse:
    """`POST /desk/choir/<id>/plan/tune`: a mystery tune for today, and on to the stage with it."""
    room, choir = parts_of(request), await choir_of(request)
    await read_posted(request)
    try:
        reading = await room.services.play.mysteries.begin(choir.id)
    except Refused as refused:
        fault = refusal_words(room.pages.say, refused)
        return await _page(request, choir, status=409, fault=fault)
    raise web.HTTPSeeOther(f"/stage/{choir.id}/tune?reading={reading}")


def _days(posted: Posted) -> Mapping[date, Kind]:
    """The fields of the form; ValueError for a day or a kind that is none."""
    return {
        date.fromisoformat(name.removeprefix(_FIELD)): Kind(values[-1])
        for name, values in posted.fields.items()
        if name.startswith(_FIELD)
    }


async def _page(
    request: web.Request,
    choir: Choir,
    *,
    status: int,
    fault: str | None = None,
    wished: Mapping[date, Kind] | None = None,
) -> web.StreamResponse:
    room = parts_of(request)
    say, first = room.pages.say, month_asked_for(request, today_of(room, choir))
    if wished:
        first = min(wished).replace(day=1)
    plan = await room.services.plans.month(choir.id, first)
    values = {
        "choir": choir,
        "month": say.date(first, "LLLL y"),
        "of": f"{first:%Y-%m}",
        "before": f"{first - timedelta(days=1):%Y-%m}",
        "after": f"{first + timedelta(days=31):%Y-%m}",
        "weeks": [list(week) for week in _weeks(plan)],
        "kinds": (Kind.CARD, *plan.offered),
        "wished": wished or {},
        "fault": fault,
        "done": say("plan.kept") if request.query.get("done") == "kept" else None,
        "why": lambda day: why_words(say, day),
        "stage": lambda day: _stage(choir, day),
        "today": plan.today,
        "kept": any(day.why is Why.KEPT for day in plan.days),
    }
    return desk_page(request, "plan.html", values, status=status)


def _weeks(plan: Plan) -> Iterator[Iterator[PlanDay]]:
    for _, days in groupby(plan.days, key=lambda day: day.on.isocalendar()[:2]):
        yield days


_WAYS = frozenset(way.value for way in Way)


def _stage(choir: Choir, day: PlanDay) -> str | None:
    """Where today's reading is begun; None for a tune, which is begun by a press."""
    match day.kind:
        case Kind.MATCH:
            return f"/desk/choir/{choir.id}/match"
        case Kind.STORY:
            return f"/desk/choir/{choir.id}/story"
        case Kind.MYSTERY_TUNE:
            return None
        case kind if kind.value in _WAYS:
            return f"/stage/{choir.id}?way={kind.value}"
        case _:
            return f"/stage/{choir.id}"
