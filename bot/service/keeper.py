"""What goes by itself: taps at midnight, spans with the week, codes with the term, seats later."""

from __future__ import annotations

import asyncio
import logging
from datetime import datetime, timedelta
from enum import Enum
from pathlib import Path

from bot.activities.calendar import day_ends_at, local_day
from bot.activities.choir import Choir
from bot.errors import RiserbellError
from bot.privacy.approval import LONGEST_KEPT_DAYS
from bot.service.approvals import Action, Approvals
from bot.service.choirs import Choirs
from bot.service.clock import Clock
from bot.service.home_spans import HomeSpans
from bot.service.practice import Practice
from bot.service.seat_links import SeatLinks
from bot.service.seat_safe import SeatSafe
from bot.service.seats import Seats
from bot.store import practice as practice_rows
from bot.store import seats as seat_rows
from bot.store.database import Database, Snapshot, Transaction
from bot.store.keys import replace_tag_keys

_log = logging.getLogger(__name__)
_LONGEST_NAP = timedelta(hours=6)  # so that a choir that was just added is noticed
_SOON = timedelta(minutes=1)


class Term(Enum):
    """Where a choir's term stands for its seats."""

    GOES_ON = "goes on"  # or there is no seat
    ENDED = "ended"
    LONG_PAST = "long past"  # as long as its seats outlast it; or no signed sheet is left


class Keeper:
    """Makes what the register promises about keeping come true."""

    def __init__(
        self,
        *,
        database: Database,
        clock: Clock,
        choirs: Choirs,
        approvals: Approvals,
        seats: Seats,
        practice: Practice,
        spans: HomeSpans,
        safe: SeatSafe,
        links: SeatLinks,
        folder: Path,
    ) -> None:
        self._database = database
        self._clock = clock
        self._choirs = choirs
        self._approvals = approvals
        self._seats = seats
        self._practice = practice
        self._spans = spans
        self._safe = safe
        self._links = links
        self._folder = folder

    async def run(self) -> None:
        """Keep house for ever."""
        while True:
            try:
                until = await self.round()
            except Exception:
                _log.exception("keeping house failed and is tried again")
                until = self._clock.now() + _SOON
            await self._clock.sleep(max((until - self._clock.now()).total_seconds(), 1.0))

    async def round(self) -> datetime:
        """Do all that is due now; the moment at which to look again."""
        now = self._clock.now()
        await self._approvals.see_date()
        await self._approvals.forget_old_audit()
        choirs = await self._choirs.all()
        for choir in choirs:
            try:
                await self._keep(choir)
            except RiserbellError as error:
                _log.warning("keeping house for a choir failed: %s", type(error).__name__)
        self._links.forget_old_tries()
        await self._safe.renew()
        midnights = [day_ends_at(local_day(now, choir.zone), choir.zone) for choir in choirs]
        return min([*midnights, now + _LONGEST_NAP])

    async def _keep(self, choir: Choir) -> None:
        await self._practice.fold(choir.id)
        await self._spans.fold(choir.id)
        await self._seats.end_old_visits(choir)
        await self._end_term(choir)
        today = local_day(self._clock.now(), choir.zone)
        await self._links.close(choir.id, today)
        async with self._database.transaction() as change:
            longest = timedelta(days=LONGEST_KEPT_DAYS["totals"])
            await practice_rows.drop_counts_before(change, choir.id, today - longest)

    async def _end_term(self, choir: Choir) -> None:
        """Codes and visits die with the term, seats `after_term` days later.

        Where the last signed sheet of a choir was taken away, all goes at once.
        """
        async with self._database.snapshot() as read:
            if await self._term_over(read, choir) is Term.GOES_ON:
                return
        purged = False
        async with self._safe.erasing(), self._database.transaction() as change:
            over = await self._term_over(change, choir)
            if over is Term.ENDED:
                await self._end_codes(change, choir.id)
            elif over is Term.LONG_PAST:
                purged = await self._purge(change, choir.id)
        if purged:
            await asyncio.to_thread(replace_tag_keys, self._folder)

    async def _term_over(self, read: Snapshot, choir: Choir) -> Term:
        today = local_day(self._clock.now(), choir.zone)
        if not await seat_rows.seats_of(read, choir.id):
            return Term.GOES_ON
        term = await self._approvals.term_ends(read, choir.id)
        if term is None:
            return Term.LONG_PAST
        ends, after = term
        if today <= ends:
            return Term.GOES_ON
        return Term.ENDED if today <= ends + timedelta(days=after) else Term.LONG_PAST

    async def _end_codes(self, change: Transaction, choir_id: str) -> None:
        seats = await seat_rows.seats_of(change, choir_id)
        ended = sum([await seat_rows.drop_code(change, seat.id) for seat in seats])
        if ended:
            await self._note(change, Action.TERM_ENDED, ended)

    async def _purge(self, change: Transaction, choir_id: str) -> bool:
        """Delete a choir's seats; whether they were the last of all."""
        seats = await seat_rows.seats_of(change, choir_id)
        for seat in seats:
            await seat_rows.drop_seat(change, seat.id)
        await self._note(change, Action.PURGED, len(seats))
        last = not await seat_rows.any_seat(change)
        if last:
            await self._note(change, Action.KEYS_REPLACED, 1)
        return last

    async def _note(self, change: Transaction, action: Action, amount: int) -> None:
        await self._approvals.note(change, action, amount=amount, by_director=False)
