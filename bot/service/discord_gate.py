"""Who may be met on Discord: where a choir is linked and the school's sheet says the same place.

It fails closed: no link, no sheet that holds today, another server or channel than the signed one,
and nothing goes up there; the same minute that a sheet ends, it ends.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from bot.activities.calendar import local_day
from bot.activities.choir import Choir
from bot.privacy.approval import Activity, Sheet
from bot.service.approvals import Approvals
from bot.service.clock import Clock
from bot.store.choirs import find_choir
from bot.store.database import Database, Snapshot
from bot.store.discord_links import DiscordLink, link_of_choir
from bot.store.remembered import Remembered


@dataclass(frozen=True, slots=True, kw_only=True)
class Opening:
    """A choir's place on Discord, the sheet that opens it, and the choir's local date."""

    choir: Choir
    link: DiscordLink
    sheet: Sheet
    today: date

    @property
    def since(self) -> date:
        """The first date whose line goes up there."""
        return max(self.link.linked_on, self.sheet.valid_from)

    @property
    def counts_taps(self) -> bool:
        """Whether a tap from there is kept."""
        return Activity.TAPS in self.sheet.activities


class DiscordGate:
    """Asks for link and sheet together."""

    def __init__(self, database: Database, clock: Clock, approvals: Approvals) -> None:
        self._database = database
        self._clock = clock
        self._approvals = approvals
        self._linked: Remembered[str, tuple[DiscordLink | None, Choir | None]] = Remembered(
            database
        )

    async def open_for(self, choir_id: str) -> Opening | None:
        """The choir's place where it is open today, else None.

        Mostly without the database: a press does not wait for one that is being kept.
        """
        if self._linked.knows(choir_id) and self._approvals.knows:
            link, choir = self._linked.value(choir_id)
            if link is None or choir is None:
                return None
            today = local_day(self._clock.now(), choir.zone)
            return _opening(choir, link, self._approvals.current_known(choir_id, today), today)
        async with self._database.snapshot() as read:
            return await self.open_in(read, choir_id)

    async def goes_on_in(self, read: Snapshot, choir_id: str) -> bool:
        """Whether a signed sheet of a term that goes on names the choir's place.

        Asked before anything is erased: a clock in doubt, or a run on another address, closes the
        place for a while and is no reason to take anybody's account off a seat.
        """
        link, choir = await link_of_choir(read, choir_id), await find_choir(read, choir_id)
        if link is None or choir is None:
            return False
        today = local_day(self._clock.now(), choir.zone)
        return any(
            choir_id in sheet.choirs
            and today <= sheet.term_ends_on
            and _opening(choir, link, sheet, today) is not None
            for sheet in await self._approvals.signed_in(read)
        )

    async def open_in(self, read: Snapshot, choir_id: str) -> Opening | None:
        """The same, inside a snapshot or transaction."""

        async def look() -> tuple[DiscordLink | None, Choir | None]:
            return await link_of_choir(read, choir_id), await find_choir(read, choir_id)

        link, choir = await self._linked.get(choir_id, look)
        if link is None or choir is None:
            return None
        today = local_day(self._clock.now(), choir.zone)
        sheet = await self._approvals.current_in(read, choir_id, today)
        return _opening(choir, link, sheet, today)


def _opening(choir: Choir, link: DiscordLink, sheet: Sheet | None, today: date) -> Opening | None:
    """The opening where the sheet says the very place of the link."""
    terms = None if sheet is None else sheet.discord
    if sheet is None or terms is None or terms.guild_id != link.guild_id:
        return None
    if link.channel_id not in terms.channel_ids:
        return None
    return Opening(choir=choir, link=link, sheet=sheet, today=today)
