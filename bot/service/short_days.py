"""Days with another bell as a director types them: a date and a time a line; and written back."""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import time

from bot.activities.calendar import ShortDay
from bot.service.days_off import parse_days_off
from bot.wording import Wording

_LINE = re.compile(r"([^\s,]+)(?:\s*,\s*|\s+)(\d{1,2}):(\d{2})")
_MOST = 400


def parse_short_days(text: str, say: Wording) -> tuple[frozenset[ShortDay], tuple[str, ...]]:
    """The days with their bells, and a sentence for each line that is wrong."""
    found: dict[object, ShortDay] = {}
    problems: list[str] = []
    for number, line in enumerate(text.splitlines(), start=1):
        if not line.strip():
            continue
        day = _read(line.strip(), say)
        if day is None:
            problems.append(say("choir.fault.short_day", line=number, text=line.strip()[:40]))
        elif day.on in found:
            problems.append(say("choir.fault.short_day_twice", line=number, day=day.on.isoformat()))
        else:
            found[day.on] = day
    if len(found) > _MOST:
        problems.append(say("choir.fault.short_days", most=_MOST))
    return frozenset(found.values()), tuple(problems)


def write_short_days(days: Iterable[ShortDay]) -> str:
    """The lines that `parse_short_days` reads back as these days."""
    return "\n".join(
        f"{day.on.isoformat()} {day.bell_at.isoformat('minutes')}"
        for day in sorted(days, key=lambda day: day.on)
    )


def _read(line: str, say: Wording) -> ShortDay | None:
    match = _LINE.fullmatch(line)
    if match is None:
        return None
    days, problems = parse_days_off(match[1], say)
    try:
        bell = time(int(match[2]), int(match[3]))
    except ValueError:
        return None
    return None if problems else ShortDay(on=min(days), bell_at=bell)
