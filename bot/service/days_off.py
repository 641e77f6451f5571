"""Days off as a director types them: a date or a span a line; and written back the same way."""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import date, timedelta

from bot.wording import Wording

_DATE = r"\d{4}-\d{1,2}-\d{1,2}|\d{1,2}/\d{1,2}/\d{4}"
_LINE = re.compile(rf"({_DATE})(?:\s*(?:to|until|through|\.\.\.?|-|–|—)\s*({_DATE}))?")
_LONGEST = 366  # days of one span
_MOST = 2000  # days altogether
_DAY = timedelta(days=1)


def parse_days_off(text: str, say: Wording) -> tuple[frozenset[date], tuple[str, ...]]:
    """The days, and a sentence for each line that is wrong.

    >>> parse_days_off("2026-11-26 to 2026-11-27", ...)[0]  # doctest: +SKIP
    frozenset({datetime.date(2026, 11, 26), datetime.date(2026, 11, 27)})
    """
    days: set[date] = set()
    problems: list[str] = []
    for number, line in enumerate(text.splitlines(), start=1):
        if not line.strip():
            continue
        try:
            first, last = _span(line.strip())
        except ValueError:
            problems.append(say("choir.fault.day_off", line=number, text=line.strip()[:40]))
            continue
        if not first <= last < first + _LONGEST * _DAY:
            problems.append(say("choir.fault.day_off_span", line=number, most=_LONGEST))
            continue
        days.update(first + n * _DAY for n in range((last - first).days + 1))
    if len(days) > _MOST:
        problems.append(say("choir.fault.days_off", most=_MOST))
    return frozenset(days), tuple(problems)


def write_days_off(days: Iterable[date]) -> str:
    """The lines that `parse_days_off` reads back as these days; days in a row as one span."""
    spans: list[tuple[date, date]] = []
    for day in sorted(days):
        if spans and spans[-1][1] + _DAY == day and (day - spans[-1][0]).days < _LONGEST:
            spans[-1] = (spans[-1][0], day)
        else:
            spans.append((day, day))
    return "\n".join(
        first.isoformat() if first == last else f"{first.isoformat()} to {last.isoformat()}"
        for first, last in spans
    )


def _span(line: str) -> tuple[date, date]:
    match = _LINE.fullmatch(line)
    if match is None:
        raise ValueError(line)
    first = _date(match[1])
    return first, _date(match[2]) if match[2] else first


def _date(text: str) -> date:
    """2026-11-27, or 11/27/2026 with the month first."""
    if "/" in text:
        month, day, year = (int(part) for part in text.split("/"))
    else:
        year, month, day = (int(part) for part in text.split("-"))
    return date(year, month, day)
