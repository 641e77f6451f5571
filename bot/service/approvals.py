"""Approvals: drafts, the hash typed in from the signed print, and the sheet that holds today.

It fails closed: whatever is in doubt (the file, the hash, the date, the clock, the way the room is
reached) is no sheet, and without a sheet nothing about a seat is kept.
"""

from __future__ import annotations

import hmac
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, timedelta
from enum import StrEnum

from bot.activities.calendar import local_day
from bot.errors import Refused
from bot.privacy.approval import Sheet, short_hash
from bot.service.approval_form import draft_of
from bot.service.clock import Clock
from bot.service.holding import Circumstances as Circumstances
from bot.service.holding import HoldingSheets, readable, signed
from bot.store import approvals as rows
from bot.store.approvals import AuditEntry, KeptSheet
from bot.store.choirs import all_choirs
from bot.store.database import Database, Snapshot, Transaction

WARN_DAYS = 30


class Action(StrEnum):
    """What is written down in the audit list."""

    DRAFTED = "sheet_drafted"
    CONFIRMED = "sheet_confirmed"
    TAKEN_AWAY = "sheet_taken_away"
    CLOCK_TRUSTED = "clock_trusted"
    SEATS_MADE = "seats_made"
    SLIP_REPLACED = "slip_replaced"
    SEAT_TAKEN_OVER = "seat_taken_over"
    SEAT_FORGOTTEN = "seat_forgotten"
    SEAT_REMOVED = "seat_removed"
    SEAT_COPIED = "seat_copied_out"
    SEATS_BROUGHT_BACK = "seats_brought_back"
    JOINING_CLOSED = "joining_closed"
    JOINING_REOPENED = "joining_reopened"
    EXPORTED = "choir_exported"
    CHOIR_REMOVED = "choir_removed"
    TERM_ENDED = "codes_ended_with_the_term"
    PURGED = "seats_purged_after_the_term"
    KEYS_REPLACED = "keys_replaced"


class Standing(StrEnum):
    """Where a sheet stands."""

    DRAFT = "draft"
    HOLDS = "holds"
    COMING = "coming"
    EXPIRED = "expired"
    EDITED = "edited"
    ELSEWHERE = "elsewhere"  # signed for another way of running the program


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetLine:
    """A sheet at the desk. `sheet` is None where its file is no sheet any more."""

    sheet_id: str
    sheet: Sheet | None
    short_hash: str
    standing: Standing
    days_left: int | None


class Approvals:
    """Which sheet holds for a choir."""

    def __init__(
        self, database: Database, clock: Clock, circumstances: Circumstances | None = None
    ) -> None:
        self._database = database
        self._clock = clock
        self._circumstances = circumstances or Circumstances()
        self._holding = HoldingSheets(database, clock, self._circumstances)

    @property
    def circumstances(self) -> Circumstances:
        """How this run is reached, and whether it speaks to Discord."""
        return self._circumstances

    async def current(self, choir_id: str, today: date) -> Sheet | None:
        """The sheet that holds for a choir on its local date, None in any doubt."""
        async with self._database.snapshot() as read:
            return await self.current_in(read, choir_id, today)

    async def current_in(self, read: Snapshot, choir_id: str, today: date) -> Sheet | None:
        """The same, inside a snapshot or transaction; of several sheets the latest signed."""
        return await self._holding.current_in(read, choir_id, today)

    async def signed_in(self, read: Snapshot) -> tuple[Sheet, ...]:
        """Every signed sheet, whether or not it holds today and here."""
        sheets = [signed(kept) for kept in await rows.all_sheets(read)]
        return tuple(sheet for sheet in sheets if sheet is not None)

    @property
    def knows(self) -> bool:
        """Whether `current_known` can tell: no sheet and no date changed since the last look."""
        return self._holding.knows

    def current_known(self, choir_id: str, today: date) -> Sheet | None:
        """The same without the database, where it `knows`."""
        return self._holding.current_known(choir_id, today)

    async def draft(self, form: Mapping[str, list[str]]) -> str:
        """Keep a draft made by the desk's form; its id. InputProblems with every fault."""
        async with self._database.transaction() as change:
            choirs = {choir.id for choir in await all_choirs(change)}
            sheet_id, data = draft_of(form, choirs, demo=self._database.born == "demo")
            await rows.add_draft(change, sheet_id, data)
            await self.note(change, Action.DRAFTED, sheet=short_hash(data))
        return sheet_id

    async def file(self, sheet_id: str) -> bytes:
        """A sheet's exact bytes; Refused("approval.unknown")."""
        async with self._database.snapshot() as read:
            return (await _found(read, sheet_id)).file

    async def confirm(self, sheet_id: str, typed: str) -> None:
        """Let a sheet count, by the hash from its signed print.

        Refused("approval.unknown"), Refused("approval.wrong_hash").
        """
        plain = "".join(typed.lower().replace("-", "").split())
        async with self._database.transaction() as change:
            kept = await _found(change, sheet_id)
            expected = short_hash(kept.file)
            if not hmac.compare_digest(plain.encode(), expected.encode()):
                raise Refused("approval.wrong_hash")
            await rows.confirm_sheet(change, sheet_id, expected)
            await self.note(change, Action.CONFIRMED, sheet=expected)

    async def take_away(self, sheet_id: str) -> None:
        """Delete a sheet: what it alone allowed is not allowed from now on."""
        async with self._database.transaction() as change:
            kept = await _found(change, sheet_id)
            await rows.drop_sheet(change, sheet_id)
            await self.note(change, Action.TAKEN_AWAY, sheet=short_hash(kept.file))

    async def lines(self) -> tuple[SheetLine, ...]:
        """Every sheet as the desk lists it, the newest first."""
        today = self._clock.now().date()
        async with self._database.snapshot() as read:
            zones = [choir.zone for choir in await all_choirs(read)]
            kept = await rows.all_sheets(read)
        if zones:
            today = local_day(self._clock.now(), zones[0])
        return tuple(self._line(each, today) for each in reversed(kept))

    async def term_ends(self, read: Snapshot, choir_id: str) -> tuple[date, int] | None:
        """The latest term's end of a choir's signed sheets and the days that seats outlast it.

        An expired sheet still says when its seats go. None where no signed sheet names the choir.
        """
        ends = [
            (sheet.term_ends_on, sheet.kept_days["after_term"])
            for sheet in await self.signed_in(read)
            if choir_id in sheet.choirs
        ]
        return max(ends, default=None)

    async def clock_doubtful(self) -> bool:
        """Whether the clock went back by more than two days, so that no sheet counts."""
        async with self._database.snapshot() as read:
            return await self._holding.clock_doubtful(read)

    async def trust_clock(self) -> None:
        """The director says that today's date is right: it counts from now on."""
        async with self._database.transaction() as change:
            await rows.see_date(change, self._clock.now().date())
            await self.note(change, Action.CLOCK_TRUSTED)

    async def see_date(self) -> None:
        """Note today's date where it is later than the last one."""
        today = self._clock.now().date()
        async with self._database.transaction() as change:
            last = await rows.seen_on(change)
            if last is None or last < today:
                await rows.see_date(change, today)

    async def audit(self) -> tuple[AuditEntry, ...]:
        """What was done, the oldest first."""
        async with self._database.snapshot() as read:
            return await rows.audit_entries(read)

    async def note(
        self,
        change: Transaction,
        action: Action,
        *,
        amount: int = 1,
        sheet: str | None = None,
        by_director: bool = True,
    ) -> None:
        """Write down what is being done in this transaction."""
        await rows.add_audit(
            change,
            done_on=self._clock.now().astimezone(UTC).date(),
            role="director" if by_director else "program",
            action=action.value,
            amount=amount,
            sheet=sheet,
        )

    async def note_alone(
        self, action: Action, *, amount: int = 1, by_director: bool = True
    ) -> None:
        """Write down something that changed no row."""
        async with self._database.transaction() as change:
            await self.note(change, action, amount=amount, by_director=by_director)

    async def forget_old_audit(self, longest: timedelta = timedelta(days=365)) -> None:
        """Delete entries older than a year."""
        async with self._database.transaction() as change:
            await rows.drop_audit_before(change, self._clock.now().date() - longest)

    def _line(self, kept: KeptSheet, today: date) -> SheetLine:
        sheet = readable(kept)
        return SheetLine(
            sheet_id=kept.sheet_id,
            sheet=sheet,
            short_hash=short_hash(kept.file),
            standing=self._standing(kept, sheet, today),
            days_left=None if sheet is None else (sheet.expires_on - today).days,
        )

    def _standing(self, kept: KeptSheet, sheet: Sheet | None, today: date) -> Standing:
        if sheet is None or (kept.confirmed_hash and signed(kept) is None):
            return Standing.EDITED
        if not kept.confirmed_hash:
            return Standing.DRAFT
        if today > sheet.expires_on:
            return Standing.EXPIRED
        if today < sheet.valid_from:
            return Standing.COMING
        return Standing.HOLDS if self._holding.fits(sheet) else Standing.ELSEWHERE


async def _found(read: Snapshot, sheet_id: str) -> KeptSheet:
    kept = await rows.find_sheet(read, sheet_id)
    if kept is None:
        raise Refused("approval.unknown")
    return kept
