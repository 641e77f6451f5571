"""The choir's reading-ahead span over the weeks: a plot with its numbers, for the director."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from aiohttp import web

from bot.activities.curtain import SpanWeek
from bot.chat.room.entry import desk_page
from bot.chat.room.parts import parts_of

# The plot in the units of its viewBox.
WIDTH, HEIGHT = 720, 260
_LEFT, _RIGHT, _TOP, _BOTTOM = 44, 20, 20, 44
_LEAST_TOP = 8  # beats at the top of the plot, so that a small span does not look like a large one
_SHOWN = 20  # weeks


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """One week in the plot: a notehead at the middle, a stem from the least to the most."""

    x: float
    y: float
    least_y: float
    most_y: float
    label: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """One level line with its number of beats."""

    y: float
    beats: int


@dataclass(frozen=True, slots=True, kw_only=True)
class WeekRow:
    """One week in the table."""

    week: str
    middle: str
    spread: str
    times: int


async def span(request: web.Request) -> web.StreamResponse:
    """`/desk/choir/<id>/span`: how far ahead the choir reads, week by week."""
    room = parts_of(request)
    choir = await room.services.choirs.get(request.match_info["choir"])
    found = await room.services.play.curtains.span(choir.id)
    weeks, say = found.weeks[-_SHOWN:], room.pages.say
    labels = [say.date(week.monday, "MMM d") for week in weeks]
    values = {
        "choir": choir,
        "span": found,
        "marks": marks(weeks, labels),
        "rules": rules(weeks),
        "rows": [
            WeekRow(
                week=say.date(week.monday, "MMM d"),
                middle=f"{week.middle:g}",
                spread=_spread(week, say("curtain.to")),
                times=week.times,
            )
            for week in weeks
        ],
        "size": (WIDTH, HEIGHT),
        "edges": (_LEFT, WIDTH - _RIGHT),
    }
    return desk_page(request, "span.html", values)


def marks(weeks: Sequence[SpanWeek], labels: Sequence[str]) -> tuple[Mark, ...]:
    """Where each week stands in the plot; a label under every one that has room for it."""
    room = (WIDTH - _LEFT - _RIGHT) / max(len(weeks), 1)
    every = max(1, -(-64 // int(room)))
    top = _top(weeks)
    return tuple(
        Mark(
            x=round(_LEFT + room * (number + 0.5), 1),
            y=_height(week.middle, top),
            least_y=_height(week.least, top),
            most_y=_height(week.most, top),
            label=label if number % every == 0 else "",
        )
        for number, (week, label) in enumerate(zip(weeks, labels, strict=True))
    )


def rules(weeks: Sequence[SpanWeek]) -> tuple[Rule, ...]:
    """Level lines from no beats to the top of the plot, every two or four beats."""
    top = _top(weeks)
    step = 2 if top <= 12 else 4
    return tuple(Rule(y=_height(beats, top), beats=beats) for beats in range(0, top + 1, step))


def _top(weeks: Sequence[SpanWeek]) -> int:
    most = max((week.most for week in weeks), default=0)
    return max(_LEAST_TOP, most + most % 2)


def _height(beats: float, top: int) -> float:
    return round(HEIGHT - _BOTTOM - (HEIGHT - _TOP - _BOTTOM) * beats / top, 1)


def _spread(week: SpanWeek, to: str) -> str:
    return str(week.least) if week.least == week.most else f"{week.least} {to} {week.most}"
