"""Spans told from home as rows: a seat's number of the week, and the weeks of the class."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from bot.activities.curtain import HomeWeek
from bot.store.database import Snapshot, Transaction


async def spans_of(read: Snapshot, seat_id: str) -> Mapping[date, int]:
    """The beats that a seat told, by the Monday of each week that is not made a figure yet."""
    rows = await read.rows("SELECT * FROM home_spans WHERE seat_id = ? ORDER BY begins", seat_id)
    return {date.fromisoformat(row["begins"]): row["beats"] for row in rows}


async def keep_span(change: Transaction, seat_id: str, begins: date, beats: int) -> None:
    """Keep a seat's number of a week in place of an earlier one."""
    where = {"seat_id": seat_id, "begins": begins.isoformat()}
    if not await change.insert_once("home_spans", {**where, "beats": beats}):
        await change.update("home_spans", {"beats": beats}, where)


async def drop_span(change: Transaction, seat_id: str, begins: date) -> None:
    """Forget a seat's number of a week."""
    await change.delete("home_spans", {"seat_id": seat_id, "begins": begins.isoformat()})


async def take_ended(
    change: Transaction, choir_id: str, before: date
) -> Mapping[date, tuple[int, ...]]:
    """The numbers of a choir's weeks that began before a date; they are forgotten with it."""
    rows = await change.rows(
        "SELECT home_spans.* FROM home_spans JOIN seats USING (seat_id) "
        "WHERE choir_id = ? AND begins < ? ORDER BY begins",
        choir_id,
        before.isoformat(),
    )
    weeks: dict[date, tuple[int, ...]] = {}
    for row in rows:
        begins = date.fromisoformat(row["begins"])
        weeks[begins] = (*weeks.get(begins, ()), row["beats"])
        await drop_span(change, row["seat_id"], begins)
    return weeks


async def home_weeks(read: Snapshot, choir_id: str) -> tuple[HomeWeek, ...]:
    """A choir's weeks at home, the oldest first."""
    rows = await read.rows(
        "SELECT * FROM home_span_weeks WHERE choir_id = ? ORDER BY begins", choir_id
    )
    return tuple(
        HomeWeek(monday=date.fromisoformat(row["begins"]), seats=row["seats"], middle=row["middle"])
        for row in rows
    )


async def keep_home_week(change: Transaction, choir_id: str, week: HomeWeek) -> None:
    """Keep what the class held at home in a week, where that week has no figure yet."""
    await change.insert_once(
        "home_span_weeks",
        {
            "choir_id": choir_id,
            "begins": week.monday.isoformat(),
            "seats": week.seats,
            "middle": week.middle,
        },
    )


async def drop_home_weeks_before(change: Transaction, choir_id: str, day: date) -> None:
    """Forget weeks at home that began before a date."""
    for week in await home_weeks(change, choir_id):
        if week.monday < day:
            await change.delete(
                "home_span_weeks", {"choir_id": choir_id, "begins": week.monday.isoformat()}
            )
