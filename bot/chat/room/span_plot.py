"""The plot of a choir's span: two series of noteheads over the same weeks, drawn from figures."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date

from bot.activities.curtain import HomeWeek, SpanWeek

# In the units of its viewBox.
WIDTH, HEIGHT = 720, 260
LEFT, RIGHT = 44, 20
_TOP, _BOTTOM = 20, 44
_LEAST_TOP = 8  # beats at the top of the plot, so that a small span does not look like a large one
_LABEL = 64  # how much room the label of a week takes


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """A week of the class: a filled notehead at its middle, a stem from the least to the most."""

    x: float
    y: float
    least_y: float
    most_y: float


@dataclass(frozen=True, slots=True, kw_only=True)
class HomeMark:
    """A week at home: an open notehead at the middle of all who told."""

    x: float
    y: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """The name of a week under the plot."""

    x: float
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """One level line with its number of beats."""

    y: float
    beats: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Plot:
    """All that is drawn; `weeks` are the Mondays of either series, in order."""

    weeks: tuple[date, ...]
    marks: tuple[Mark, ...]
    home: tuple[HomeMark, ...]
    labels: tuple[Label, ...]
    rules: tuple[Rule, ...]


def plot_of(
    in_class: Sequence[SpanWeek],
    at_home: Sequence[HomeWeek],
    name_of: Callable[[date], str],
    most: int,
) -> Plot:
    """The plot of the last `most` weeks of which anything is known; `name_of` a Monday."""
    known = {week.monday for week in in_class} | {week.monday for week in at_home}
    weeks = sorted(known)[-most:]
    shown, home = (
        [week for week in in_class if week.monday in weeks],
        [week for week in at_home if week.monday in weeks],
    )
    top = _top([*(week.most for week in shown), *(week.middle for week in home)])
    room = (WIDTH - LEFT - RIGHT) / max(len(weeks), 1)
    across = {monday: round(LEFT + room * (n + 0.5), 1) for n, monday in enumerate(weeks)}
    every = max(1, -(-_LABEL // int(room)))
    step = 2 if top <= 12 else 4
    return Plot(
        weeks=tuple(weeks),
        marks=tuple(
            Mark(
                x=across[week.monday],
                y=_height(week.middle, top),
                least_y=_height(week.least, top),
                most_y=_height(week.most, top),
            )
            for week in shown
        ),
        home=tuple(HomeMark(x=across[week.monday], y=_height(week.middle, top)) for week in home),
        labels=tuple(
            Label(x=across[monday], text=name_of(monday))
            for n, monday in enumerate(weeks)
            if n % every == 0
        ),
        rules=tuple(Rule(y=_height(beats, top), beats=beats) for beats in range(0, top + 1, step)),
    )


def _top(beats: Sequence[float]) -> int:
    most = -(-max(beats, default=0) // 2) * 2
    return max(_LEAST_TOP, int(most))


def _height(beats: float, top: int) -> float:
    return round(HEIGHT - _BOTTOM - (HEIGHT - _TOP - _BOTTOM) * beats / top, 1)
