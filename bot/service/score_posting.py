"""The score of a match on surfaces that carry messages: posted once, then changed as it grows.

The post itself goes the way of every delivery (claimed, sent, recorded; found again after a crash);
a change says the whole score anew, so that one made twice does no harm. The room's board shows the
score as it stands and needs no posting.
"""

from __future__ import annotations

import logging
from dataclasses import replace
from datetime import datetime, timedelta

from bot.activities.choir import Choir
from bot.activities.match_card import changes, goes_up, told_by
from bot.activities.plan import planned
from bot.activities.reading_day import SETTLED, Phase, ReadingDay
from bot.errors import Refused, RiserbellError, SurfaceUnavailable
from bot.service.card import Card, ReadingCard
from bot.service.changes import SOON, Changes, go_on
from bot.service.choirs import Choirs
from bot.service.clock import Clock
from bot.service.content import Content
from bot.service.deliver import Deliver
from bot.service.match_score import card_of_score, card_slot, number_in
from bot.service.match_values import Played
from bot.service.matches import Matches
from bot.service.outlet import Outlet, Outlets
from bot.service.readings import ROOM
from bot.store.database import Database
from bot.store.deliveries import find_day
from bot.store.match_cards import card_told, keep_told, match_numbered, matches_since

_log = logging.getLogger(__name__)
_LOOKED_BACK = timedelta(days=2)  # a post that a crash cut off is settled the next morning


class ScoreCards:
    """Makes the cards of matches as they stand."""

    def __init__(self, database: Database, matches: Matches, content: Content) -> None:
        self.database = database
        self.matches = matches
        self._say = content.wording

    async def card(self, choir: Choir, line: ReadingCard, day: ReadingDay) -> Card:
        """The card of the slot that is posted; Refused("match.unknown") where its match is gone."""
        async with self.database.snapshot() as read:
            match_id = await match_numbered(read, choir.id, number_in(day.slot))
        return self.of(await self.matches.find(match_id or ""))

    def of(self, played: Played) -> Card:
        """The card of a match."""
        return card_of_score(played, self._say)


class ScorePosting:
    """Puts scores up as matches come to a turn's end or to their own."""

    def __init__(
        self,
        cards: ScoreCards,
        choirs: Choirs,
        deliver: Deliver,
        outlets: Outlets,
        clock: Clock,
        changes: Changes,
    ) -> None:
        self._cards = cards
        self._database, self._matches = cards.database, cards.matches
        self._choirs = choirs
        self._deliver = deliver
        self._outlets = outlets
        self._clock = clock
        self._changes = changes

    async def run(self) -> None:
        """Post for ever, whenever something changed."""
        await go_on(
            self.round, self._clock, self._changes, "scores could not be posted and are tried again"
        )

    async def round(self) -> datetime | None:
        """Post and change what is due; when to try again, None for never."""
        again = False
        async with self._database.snapshot() as read:
            found = await matches_since(read, (self._clock.now() - _LOOKED_BACK).date())
        for match_id, choir_id in found:
            for outlet in await self._outlets.of(choir_id):
                if outlet.name != ROOM:
                    again = not await self._attend(match_id, outlet) or again
        return self._clock.now() + SOON if again else None

    async def _attend(self, match_id: str, outlet: Outlet) -> bool:
        """Whether nothing is left to do about a match on a surface."""
        played = await self._matches.find(match_id)
        choir = await self._choirs.get(played.choir_id)
        try:
            return await self._bring_up(choir, played, outlet)
        except (SurfaceUnavailable, TimeoutError, RiserbellError) as error:
            _log.warning("a score was not taken by %s: %s", outlet.name, type(error).__name__)
            return False

    async def _bring_up(self, choir: Choir, played: Played, outlet: Outlet) -> bool:
        slot = card_slot(played.number)
        async with self._database.snapshot() as read:
            day = await find_day(read, choir.id, played.on, outlet.name, slot)
            told = await card_told(read, played.id, outlet.name)
        plan = replace(planned(choir, played.on), slot=slot)
        if day is None and (not goes_up(played.match) or self._clock.now() >= plan.ends):
            return True
        since = await outlet.carried_since(choir.id)
        if since is None or played.on < since:
            return True
        fresh = day is None
        day = await self._deliver.visit(
            choir, plan, outlet, at_once=True, reading_id=played.lines[-1]
        )
        if day.phase is Phase.SENT and changes(played.match, told):
            # What went up this moment says this already; whatever is older may say less.
            await self._tell(played, outlet, None if fresh else day.message_id)
        return day.phase in SETTLED

    async def _tell(self, played: Played, outlet: Outlet, message_id: str | None) -> None:
        """Let a message that is up say what is so now, and write down what it says."""
        if message_id is not None:
            try:
                await outlet.renew(self._cards.of(played), message_id)
            except Refused as refused:
                # The message is gone, or is not to be changed any more: it is left alone.
                _log.info("the card of a score stays as it is: %s", refused.key)
        async with self._database.transaction() as change:
            await keep_told(change, played.id, outlet.name, told_by(played.match))
