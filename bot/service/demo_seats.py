"""Seats for the demonstration: an invented approval, invented marks, one code that anyone may type.

All of it counts in a database that was born as a demonstration, and nowhere else.
"""

from __future__ import annotations

import asyncio
import random
from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from pathlib import Path

from bot.activities.choir import Choir
from bot.activities.curtain import HomeWeek, home_week
from bot.activities.practice import WeekCount
from bot.activities.taps import Went
from bot.privacy.approval import Activity, Sheet, read_sheet, short_hash
from bot.privacy.tags import code_tag, parse_code
from bot.service.approval_form import FILE, draft_of, empty_form
from bot.store import practice as practice_rows
from bot.store import seats as seat_rows
from bot.store.approvals import add_draft, all_sheets, confirm_sheet
from bot.store.database import Database, Transaction
from bot.store.home_spans import keep_home_week
from bot.store.keys import tag_keys
from bot.store.seats import Seat

DEMO_CODE = "DEMO-SEAT"  # opens the first seat of the first choir
SEATS = 24
_WEEK = timedelta(weeks=1)
_ANSWERS, _WEIGHTS = (Went.STEADY, Went.BUMPY, Went.NOT_YET), (50, 35, 15)


async def plant_seats(
    database: Database,
    folder: Path,
    choirs: Sequence[Choir],
    pasts: Mapping[str, Sequence[date]],
    today: date,
) -> bool:
    """Give choirs an approval and seats; False where a sheet is there already.

    `pasts` are the past meeting days by choir id. The same days give the same marks.
    """
    if database.born == "real":
        raise ValueError("invented seats are never planted among a school's data")
    first = min((day for days in pasts.values() for day in days), default=today)
    sheet, data = _sheet(choirs, first, today)
    keys = await asyncio.to_thread(tag_keys, folder)
    code = parse_code(DEMO_CODE)
    assert code is not None
    tag = await asyncio.to_thread(code_tag, keys, code)
    async with database.transaction(sheet.fields) as change:
        if await all_sheets(change):
            return False
        await add_draft(change, sheet.sheet_id, data)
        await confirm_sheet(change, sheet.sheet_id, short_hash(data))
        for choir in choirs:
            days = sorted(day for day in pasts.get(choir.id, ()) if day < today)
            for number in range(1, SEATS + 1):
                seat = Seat(
                    id=f"{choir.id}-{number}", choir_id=choir.id, number=number, made_on=first
                )
                await seat_rows.add_seat(change, seat)
                await _live(change, seat, days, today)
            await practice_rows.fold_taps(change, choir.id, today)
            for week in _weeks_at_home(choir, days, today, sheet.least_in_class):
                await keep_home_week(change, choir.id, week)
        await seat_rows.keep_code(change, f"{choirs[0].id}-1", tag)
    return True


async def _live(change: Transaction, seat: Seat, days: Sequence[date], today: date) -> None:
    """What one invented singer did on the past days, as it is kept today."""
    chance = random.Random(seat.id)  # noqa: S311 - invented marks, the same on every machine
    zeal = chance.uniform(0.55, 0.95)
    read = [day for day in days if chance.random() < zeal]
    for day in read:
        went = chance.choices(_ANSWERS, _WEIGHTS)[0]
        await practice_rows.add_tap(change, seat.id, day, went, day)
    unfolded = _monday(today) - _WEEK
    for day in read:
        if day >= unfolded:
            await practice_rows.mark_read(change, seat.id, day)
    for begins in sorted({_monday(day) for day in days if day < unfolded}):
        week = WeekCount(
            begins=begins,
            offered=sum(_monday(day) == begins for day in days),
            read=sum(_monday(day) == begins for day in read),
        )
        await practice_rows.keep_week(change, seat.id, week)


def _weeks_at_home(
    choir: Choir, days: Sequence[date], today: date, least: int
) -> tuple[HomeWeek, ...]:
    """How far invented singers held the line at home, a little farther every week."""
    chance = random.Random(f"span {choir.id}")  # noqa: S311 - as above
    found = []
    for number, monday in enumerate(sorted({_monday(day) for day in days})):
        told = [
            max(0, round(chance.gauss(3 + 0.5 * number, 1.4)))
            for _ in range(SEATS)
            if chance.random() < 0.5
        ]
        if monday < _monday(today) and (week := home_week(monday, told, least)):
            found.append(week)
    return tuple(found)


def _sheet(choirs: Sequence[Choir], first: date, today: date) -> tuple[Sheet, bytes]:
    ids = [choir.id for choir in choirs]
    form = {
        **empty_form(today, ids),
        "school": ["Invented Middle School"],
        "families_told_on": [first.isoformat()],
        "approved_on": [first.isoformat()],
        "valid_from": [first.isoformat()],
        "activities": [Activity.TAPS.value, Activity.PRACTICE_ROW.value, Activity.SPAN.value],
        "remembered_devices": ["yes"],
        "disk_encryption_attested": ["yes"],
        "rights_contact": ["the school office"],
        "breach_contact": ["the principal"],
    }
    _, data = draft_of(form, ids, demo=True)
    return read_sheet(data, FILE), data


def _monday(day: date) -> date:
    return day - timedelta(days=day.weekday())
