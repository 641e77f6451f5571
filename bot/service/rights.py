"""What a school, a family and a singer may ask for: a copy, an export, being forgotten."""

from __future__ import annotations

import json
from collections import Counter
from datetime import date, timedelta

from bot.activities.curtain import HomeWeek, span_weeks
from bot.activities.taps import Went
from bot.errors import Refused
from bot.privacy.approval import LONGEST_KEPT_DAYS
from bot.privacy.floors import shown_counts
from bot.service.approvals import Action, Approvals
from bot.service.choir_form import form_of
from bot.service.choirs import Choirs
from bot.service.clock import Clock
from bot.service.seat_safe import SeatSafe
from bot.store import practice as practice_rows
from bot.store import seats as seat_rows
from bot.store.curtains import falls_of
from bot.store.database import Database, Snapshot
from bot.store.home_spans import home_weeks, spans_of
from bot.store.matches import matches_of
from bot.store.plans import plan_between
from bot.store.readings import readings_of
from bot.store.seat_links import has_account
from bot.store.seats import Seat
from bot.store.stories import ballots_of_seat

LEAST_OUTSIDE = 10  # singers; a smaller group never leaves the room as a figure


class Rights:
    """Copies and erasures. Whose seat it is, the school knows and this program does not."""

    def __init__(
        self,
        database: Database,
        clock: Clock,
        approvals: Approvals,
        choirs: Choirs,
        safe: SeatSafe,
    ) -> None:
        self._database = database
        self._clock = clock
        self._approvals = approvals
        self._choirs = choirs
        self._safe = safe

    async def copy_of(self, seat_id: str) -> dict[str, object]:
        """Everything that is kept about a seat, in plain values; Refused("seat.unknown")."""
        async with self._database.snapshot() as read:
            seat = await seat_rows.find_seat(read, seat_id)
            if seat is None:
                raise Refused("seat.unknown")
            return await _copy(read, seat)

    async def copy_for_family(self, choir_id: str, number: int) -> dict[str, object]:
        """The same for a family that the school has made sure of; that it was made is noted."""
        async with self._database.transaction() as change:
            seat = await seat_rows.seat_numbered(change, choir_id, number)
            if seat is None:
                raise Refused("seat.unknown")
            copy = await _copy(change, seat)
            await self._approvals.note(change, Action.SEAT_COPIED)
        return copy

    async def forget(self, seat_id: str, *, by_director: bool) -> None:
        """Erase a seat with everything about it. It needs no approval and no reason."""
        action = Action.SEAT_REMOVED if by_director else Action.SEAT_FORGOTTEN
        async with self._safe.erasing(), self._database.transaction() as change:
            if not await seat_rows.drop_seat(change, seat_id):
                raise Refused("seat.unknown")
            await self._approvals.note(change, action, by_director=by_director)

    async def remove_seat(self, choir_id: str, number: int) -> None:
        """Erase the seat of a choir with this number."""
        async with self._database.snapshot() as read:
            seat = await seat_rows.seat_numbered(read, choir_id, number)
        if seat is None:
            raise Refused("seat.unknown")
        await self.forget(seat.id, by_director=True)

    async def remove_choir(self, choir_id: str) -> None:
        """Delete a choir with its readings, seats and counts; Refused("choir.unknown")."""
        async with self._safe.erasing():
            await self._choirs.remove(choir_id)
        await self._approvals.note_alone(Action.CHOIR_REMOVED)

    async def export(self, choir_id: str) -> bytes:
        """A choir as a JSON file: settings, music, matches, plan, weeks of the class in groups.

        Nothing about a seat is in it; figures of fewer than ten singers are hidden.
        """
        choir = await self._choirs.get(choir_id)
        async with self._database.snapshot() as read:
            music = await readings_of(read, choir_id)
            matches = await matches_of(read, choir_id, date.min)
            plan = await plan_between(read, choir_id, date.min, date.max)
            first = self._clock.now().date() - timedelta(days=LONGEST_KEPT_DAYS["totals"] + 1)
            counts = await practice_rows.class_counts(read, choir_id, first)
            falls = await falls_of(read, choir_id)
            at_home = await home_weeks(read, choir_id)
        await self._approvals.note_alone(Action.EXPORTED)
        weeks: dict[date, Counter[str]] = {}
        for on, day in counts.items():
            week = weeks.setdefault(on - timedelta(days=on.weekday()), Counter())
            week.update({went.value: amount for went, amount in day.items()})
        return _json(
            {
                "export": 1,
                "choir": form_of(choir),
                "readings": music,
                "matches": [
                    {"on": str(match.on), "left": match.left, "right": match.right}
                    for match in matches
                ],
                "plan": {str(on): kind.value for on, kind in sorted(plan.items())},
                "weeks": {
                    begins.isoformat(): _outside(week) for begins, week in sorted(weeks.items())
                },
                "span": {
                    week.monday.isoformat(): {"times": week.times, "middle": week.middle}
                    for week in span_weeks(falls)
                },
                "span_at_home": {week.monday.isoformat(): _of_many(week) for week in at_home},
            }
        )


def _outside(week: Counter[str]) -> dict[str, int | None]:
    shown = shown_counts({went.value: week[went.value] for went in Went}, LEAST_OUTSIDE)
    return {"total": shown.total, **shown.parts}


def _of_many(week: HomeWeek) -> dict[str, float | None]:
    if week.seats < LEAST_OUTSIDE:
        return {"seats": None, "middle": None}
    return {"seats": week.seats, "middle": week.middle}


async def _copy(read: Snapshot, seat: Seat) -> dict[str, object]:
    marked = await practice_rows.days_read(read, seat.id)
    taps = await practice_rows.taps_of(read, seat.id)
    weeks = await practice_rows.weeks_of(read, seat.id)
    return {
        "seat": seat.number,
        "made_on": seat.made_on.isoformat(),
        "account_linked": await has_account(read, seat.id),
        "days_read": sorted(on.isoformat() for on in marked),
        "how_today_went": {on.isoformat(): went.value for on, went in sorted(taps.items())},
        "weeks": [
            {"begins": week.begins.isoformat(), "offered": week.offered, "read": week.read}
            for week in weeks
        ],
        "spans": [
            {"begins": begins.isoformat(), "beats": beats}
            for begins, beats in (await spans_of(read, seat.id)).items()
        ],
        "votes": [path + 1 for path in await ballots_of_seat(read, seat.id)],
    }


def _json(tree: dict[str, object]) -> bytes:
    return (json.dumps(tree, indent=1, ensure_ascii=False) + "\n").encode()
