"""Which signed sheet holds for a choir today. It fails closed: whatever is in doubt is no sheet.

Sheets are read once and remembered until one of them changes: every tap asks.
"""

from __future__ import annotations

import hmac
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta

from bot.errors import InputProblems
from bot.privacy.approval import Purpose, Sheet, Transport, read_sheet, short_hash
from bot.service.clock import Clock
from bot.store import approvals as rows
from bot.store.approvals import KeptSheet
from bot.store.database import Database, Snapshot
from bot.store.remembered import Remembered

CLOCK_DOUBT = timedelta(hours=48)
_REACHED_BY: Mapping[Transport, frozenset[Transport]] = {
    Transport.LOOPBACK: frozenset({Transport.LOOPBACK}),
    Transport.TLS: frozenset({Transport.LOOPBACK, Transport.TLS}),
    Transport.PLAIN_HTTP: frozenset(Transport),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Circumstances:
    """How this run is reached and whether it also speaks to Discord."""

    transport: Transport = Transport.LOOPBACK
    discord: bool = False


class HoldingSheets:
    """The signed sheets that fit this run, and the doubt about the clock."""

    def __init__(self, database: Database, clock: Clock, here: Circumstances) -> None:
        self._database = database
        self._clock = clock
        self._here = here
        self._seen: Remembered[None, date | None] = Remembered(database)
        self._counting: Remembered[None, tuple[Sheet, ...]] = Remembered(database)

    async def current_in(self, read: Snapshot, choir_id: str, today: date) -> Sheet | None:
        """The sheet that holds for a choir on its local date; of several the latest signed."""
        seen = await self._seen.get(None, lambda: rows.seen_on(read))
        counting = await self._counting.get(None, lambda: self._count(read))
        return self._latest(seen, counting, choir_id, today)

    @property
    def knows(self) -> bool:
        """Whether `current_known` can tell."""
        return self._seen.knows(None) and self._counting.knows(None)

    def current_known(self, choir_id: str, today: date) -> Sheet | None:
        """The same without the database, where it `knows`."""
        seen, counting = self._seen.value(None), self._counting.value(None)
        return self._latest(seen, counting, choir_id, today)

    async def clock_doubtful(self, read: Snapshot) -> bool:
        """Whether the clock went back by more than two days, so that no sheet counts."""
        return self._doubtful(await self._seen.get(None, lambda: rows.seen_on(read)))

    def fits(self, sheet: Sheet) -> bool:
        """Whether the sheet was signed for data like these, reached in this way."""
        if sheet.purpose is Purpose.DEMO:
            loopback = self._here.transport is Transport.LOOPBACK
            return self._database.born == "demo" and loopback and not self._here.discord
        if self._database.born == "demo":
            return False
        return self._here.transport in _REACHED_BY[sheet.transport]

    async def _count(self, read: Snapshot) -> tuple[Sheet, ...]:
        sheets = [signed(kept) for kept in await rows.all_sheets(read)]
        return tuple(sheet for sheet in sheets if sheet is not None and self.fits(sheet))

    def _latest(
        self, seen: date | None, counting: tuple[Sheet, ...], choir_id: str, today: date
    ) -> Sheet | None:
        if self._doubtful(seen):
            return None
        return max(
            (sheet for sheet in counting if sheet.covers(choir_id, today)),
            key=lambda sheet: (sheet.approved_on, sheet.valid_from, sheet.sheet_id),
            default=None,
        )

    def _doubtful(self, seen: date | None) -> bool:
        if seen is None:
            return False
        return self._clock.now() + CLOCK_DOUBT < datetime.combine(seen, time(0), UTC)


def signed(kept: KeptSheet) -> Sheet | None:
    """The sheet if the hash of these very bytes was typed in, and they are a sheet."""
    if kept.confirmed_hash is None:
        return None
    if not hmac.compare_digest(kept.confirmed_hash, short_hash(kept.file)):
        return None
    return readable(kept)


def readable(kept: KeptSheet) -> Sheet | None:
    """The sheet in these bytes, None where they are none or another's."""
    try:
        sheet = read_sheet(kept.file, "sheet")
    except InputProblems:
        return None
    return sheet if sheet.sheet_id == kept.sheet_id else None
