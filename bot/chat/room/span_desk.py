"""The choir's reading-ahead span over the weeks: a plot with its numbers, for the director.

Two series, of the class and of home; never one singer's. Counts of the last two weeks can be typed
here too, or mended.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from aiohttp import web

from bot.activities.curtain import HomeWeek, SpanWeek
from bot.chat.room.entry import desk_page
from bot.chat.room.pages import refusal
from bot.chat.room.parts import parts_of
from bot.chat.room.posted import read_posted
from bot.chat.room.span_plot import HEIGHT, LEFT, RIGHT, WIDTH, plot_of
from bot.errors import Refused
from bot.wording import Wording

_SHOWN = 20  # weeks


@dataclass(frozen=True, slots=True, kw_only=True)
class WeekRow:
    """One week in the table; figures that are not there are empty."""

    week: str
    middle: str
    spread: str
    times: str
    home: str
    seats: str


async def span(request: web.Request) -> web.StreamResponse:
    """`/desk/choir/<id>/span`: how far ahead the choir reads, week by week."""
    return await _page(request, status=200)


async def count(request: web.Request) -> web.StreamResponse:
    """`POST /desk/choir/<id>/span/<number>`: what the class held after a fall, if counted."""
    room, found, posted = parts_of(request), request.match_info, await read_posted(request)
    text = posted.text("beats").strip()
    fault = None
    if text and not (text.isascii() and text.isdigit() and len(text) <= 4):
        fault = room.pages.say("curtain.no_number", text=text[:12])
    else:
        try:
            await room.services.play.curtains.held(
                found["choir"], int(found["number"]), int(text) if text else None
            )
        except Refused as refused:
            fault = refusal(room.pages.say, refused)
    if fault is not None:
        return await _page(request, status=422, fault=fault)
    raise web.HTTPSeeOther(f"/desk/choir/{found['choir']}/span?done=counted#falls")


async def _page(
    request: web.Request, *, status: int, fault: str | None = None
) -> web.StreamResponse:
    room, say = parts_of(request), parts_of(request).pages.say
    choir = await room.services.choirs.get(request.match_info["choir"])
    curtains = room.services.play.curtains
    found = await curtains.span(choir.id)
    at_home = await room.services.seating.spans.weeks(choir.id)
    plot = plot_of(found.weeks, at_home, lambda monday: _short(say, monday), _SHOWN)
    values = {
        "choir": choir,
        "span": found,
        "at_home": bool(at_home),
        "asked": await room.services.seating.spans.asked_in(choir.id),
        "plot": plot,
        "rows": _rows(plot.weeks, found.weeks, at_home, say),
        "size": (WIDTH, HEIGHT),
        "edges": (LEFT, WIDTH - RIGHT),
        "falls": await curtains.recent(choir.id),
        "done": request.query.get("done") == "counted",
        "fault": fault,
    }
    return desk_page(request, "span.html", values, status=status)


def _rows(
    mondays: Sequence[date], in_class: Sequence[SpanWeek], at_home: Sequence[HomeWeek], say: Wording
) -> list[WeekRow]:
    counted: Mapping[date, SpanWeek] = {week.monday: week for week in in_class}
    told: Mapping[date, HomeWeek] = {week.monday: week for week in at_home}
    return [
        _row(_short(say, monday), counted.get(monday), told.get(monday), say("curtain.to"))
        for monday in mondays
    ]


def _row(week: str, counted: SpanWeek | None, told: HomeWeek | None, to: str) -> WeekRow:
    return WeekRow(
        week=week,
        middle=f"{counted.middle:g}" if counted else "",
        spread=_spread(counted, to) if counted else "",
        times=str(counted.times) if counted else "",
        home=f"{told.middle:g}" if told else "",
        seats=str(told.seats) if told else "",
    )


def _short(say: Wording, monday: date) -> str:
    return say.date(monday, "MMM d")


def _spread(week: SpanWeek, to: str) -> str:
    return str(week.least) if week.least == week.most else f"{week.least} {to} {week.most}"
