"""The practice row (the trade says practice streak): a singer's days as notes and rests, and weeks.

One rule. A week is kept when at least half of its offered days, rounded up, were read. A rest that
the director gives takes its day out of the offer; so do six automatic rest days a term, spent by
themselves, oldest week first, wherever they keep a week or leave nothing of it to be read. A week
with nothing to read is no week: it is neither kept nor does it end a row. All weeks kept never
fall. Days are local to the choir; weeks begin on Monday.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum
from itertools import groupby

AUTOMATIC_RESTS = 6  # a term
BACK_FILL_DAYS = 3  # how far back a day can still be marked as read


class Mark(StrEnum):
    """How a day stands in the row; a day gone by unread is a rest like any other."""

    READ = "read"
    REST = "rest"
    OPEN = "open"


@dataclass(frozen=True, slots=True, kw_only=True)
class Day:
    """One offered day in the row."""

    on: date
    mark: Mark


@dataclass(frozen=True, slots=True, kw_only=True)
class PracticeRow:
    """The row by weeks, oldest first, and what is said beside it.

    `in_a_row` counts kept weeks up to now, `kept` all of them, `rests_left` automatic rest days.
    """

    weeks: tuple[tuple[Day, ...], ...]
    in_a_row: int
    kept: int
    rests_left: int


@dataclass(frozen=True, slots=True, kw_only=True)
class WeekCount:
    """A past week folded to three figures, as it is kept once its days are gone."""

    begins: date
    offered: int
    read: int


def needed(offered: int) -> int:
    """Days to be read for a week to be kept.

    >>> [needed(n) for n in (5, 4, 3, 2, 1, 0)]
    [3, 2, 2, 1, 1, 0]
    """
    return -(-offered // 2)


def rests_needed(offered: int, read: int) -> int:
    """The fewest automatic rests with which a week is kept or has nothing left to be read.

    >>> [rests_needed(5, read) for read in range(6)]
    [5, 3, 1, 0, 0, 0]
    """
    return next(r for r in range(offered + 1) if needed(offered - r) <= read)


def may_mark(offered: Collection[date], on: date, today: date) -> bool:
    """Whether a day can be marked as read: offered, not to come, at most three days back."""
    return on in offered and timedelta(0) <= today - on <= timedelta(days=BACK_FILL_DAYS)


def practice_row(
    offered: Collection[date],
    read: Collection[date],
    today: date,
    *,
    given_rests: Collection[date] = (),
    past: Sequence[WeekCount] = (),
    coming: int = 0,
) -> PracticeRow:
    """The row over all offered days up to today, after the folded weeks of `past`.

    A day that was read counts even where it was also a rest. The week that is still going is
    counted as soon as it is kept and never against anybody; `coming` is how many days it has yet
    to offer, so that a week once counted is not taken back by its own Friday.
    """
    shown = sorted(day for day in offered if day <= today)
    rests = set(given_rests) - set(read)
    weeks = [tuple(days) for _, days in groupby(shown, key=_week)]
    counts = [
        *past,
        *(
            WeekCount(
                begins=_week(days[0]),
                offered=sum(day not in rests for day in days)
                + (coming if _week(days[0]) == _week(today) else 0),
                read=sum(day in read for day in days),
            )
            for days in weeks
        ),
    ]
    in_a_row, kept, left = _reckon(counts, today)
    marked = tuple(
        tuple(Day(on=day, mark=_mark(day, read, rests, today)) for day in days) for days in weeks
    )
    return PracticeRow(weeks=marked, in_a_row=in_a_row, kept=kept, rests_left=left)


def _reckon(counts: Sequence[WeekCount], today: date) -> tuple[int, int, int]:
    in_a_row, kept, left = 0, 0, AUTOMATIC_RESTS
    for week in counts:
        if week.offered == 0:
            continue
        missing = rests_needed(week.offered, week.read)
        if missing == 0:
            in_a_row, kept = in_a_row + 1, kept + 1
        elif week.begins == _week(today):
            continue
        elif missing > left:
            in_a_row = 0
        else:
            left -= missing
            if missing < week.offered:
                in_a_row, kept = in_a_row + 1, kept + 1
    return in_a_row, kept, left


def _mark(day: date, read: Collection[date], rests: Collection[date], today: date) -> Mark:
    if day in read:
        return Mark.READ
    still_open = today - day <= timedelta(days=BACK_FILL_DAYS)
    return Mark.OPEN if still_open and day not in rests else Mark.REST


def _week(day: date) -> date:
    return day - timedelta(days=day.weekday())
