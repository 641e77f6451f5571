"""The practice row drawn by us: days as notes, rests and open circles on one line.

Lengths are in units of the drawing; the line lies at LINE, and every sign stands on it.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from bot.activities.practice import Mark, PracticeRow
from bot.wording import Wording

LINE, HEIGHT = 46, 92
_STEP, _BAR, _EDGE = 34, 16, 20


@dataclass(frozen=True, slots=True, kw_only=True)
class Sign:
    """One day: `x` is the middle of its sign, `letter` its weekday, `words` say it aloud."""

    x: int
    mark: Mark
    today: bool
    letter: str
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RowDrawing:
    """The whole row: signs and bar lines by their place, and its width."""

    signs: tuple[Sign, ...]
    bars: tuple[int, ...]
    width: int
    line: int = LINE
    height: int = HEIGHT


def draw_row(row: PracticeRow, today: date, say: Wording) -> RowDrawing:
    """Lay the weeks out from left to right, a bar line after each that is over."""
    signs: list[Sign] = []
    bars: list[int] = []
    x = _EDGE
    for week in row.weeks:
        for day in week:
            told = say("practice.day", day=say.date(day.on), mark=say(f"practice.mark.{day.mark}"))
            signs.append(
                Sign(
                    x=x,
                    mark=day.mark,
                    today=day.on == today,
                    letter=say.date(day.on, "EEEEE"),
                    words=told,
                )
            )
            x += _STEP
        x -= _STEP - _EDGE
        if week[0].on + timedelta(days=7 - week[0].on.weekday()) <= today:
            bars.append(x)
        x += _BAR
    return RowDrawing(signs=tuple(signs), bars=tuple(bars), width=max(x - _BAR + 4, _EDGE * 2))
