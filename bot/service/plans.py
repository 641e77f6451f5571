"""The plan of a choir: proposed week by week, kept by the director, previewed at the desk."""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import takewhile

from bot.activities.calendar import local_day, meetings_from
from bot.activities.choir import Choir
from bot.activities.rotation import PLAYFUL, WINDOW, Kind, PlanDay, check_plan, day_over, propose
from bot.errors import InputProblems, Refused
from bot.music.level import level_of
from bot.service.choirs import Choirs
from bot.service.clock import Clock
from bot.service.content import Content
from bot.store.choirs import find_choir
from bot.store.database import Database
from bot.store.plans import (
    forget_plan_day,
    keep_plan,
    note_read,
    plan_between,
    played_before,
)

_DAY = timedelta(days=1)
_BACK = timedelta(days=60)  # in which the four meeting days before a plan are looked for
_WEEK = timedelta(days=7)
_AHEAD = timedelta(days=366)  # a plan farther ahead begins as if nothing was proposed before
_CURTAIN_LEAST = 8  # measures; a shorter line has no room for it
_USUAL = 8  # measures of a card where the choir's steps are not known


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """Days of a plan with the choir and what may be chosen; `today` is the choir's date."""

    choir: Choir
    today: date
    days: tuple[PlanDay, ...]
    offered: tuple[Kind, ...]


class Plans:
    """Proposes and keeps plans; what a day reads is for the director to say."""

    def __init__(
        self,
        database: Database,
        choirs: Choirs,
        content: Content,
        clock: Clock,
        any_tune_for: Callable[[Choir], Awaitable[bool]],
    ) -> None:
        self._database = database
        self._choirs = choirs
        self._content = content
        self._clock = clock
        self._any_tune_for = any_tune_for

    async def month(self, choir_id: str, first: date) -> Plan:
        """The meeting days of a month from today on, kept or proposed."""
        last = (first + 31 * _DAY).replace(day=1) - _DAY
        choir = await self._choirs.get(choir_id)
        return await self._plan(choir, max(first, self._today(choir)), last)

    async def week(self, choir_id: str, on: date | None = None) -> Plan:
        """The meeting days of a week, Monday to Sunday, of this week where no date is named."""
        choir = await self._choirs.get(choir_id)
        day = on or self._today(choir)
        monday = day - day.weekday() * _DAY
        return await self._plan(choir, monday, monday + 6 * _DAY)

    async def keep(self, choir_id: str, days: Mapping[date, Kind]) -> None:
        """Keep what days read; Refused("plan.too_many") or ("plan.no_meeting"), nothing kept then.

        The days around them count with what is kept for them.
        """
        if not days:
            return
        async with self._database.transaction() as change:
            choir = await find_choir(change, choir_id)
            if choir is None:
                raise Refused("choir.unknown")
            first, last = min(days), max(days)
            around = self._meetings(choir, first - _BACK, last + _BACK)
            for on in days:
                if on not in around:
                    raise Refused("plan.no_meeting", day=on)
            known = {
                **await played_before(change, choir_id, first),
                **await plan_between(change, choir_id, first, last + _BACK),
                **days,
            }
            check_plan([(on, known.get(on, Kind.CARD)) for on in _near(around, first, last)])
            await keep_plan(change, choir_id, days)

    async def was_read(self, choir_id: str, kind: Kind) -> None:
        """Write down what today's line was really read as; nothing on a day without a meeting.

        A day that was kept as playful and read as a card alone is not used up by it.
        """
        choir = await self._choirs.get(choir_id)
        today = self._today(choir)
        if today not in self._meetings(choir, today, today):
            return
        async with self._database.transaction() as change:
            await note_read(change, choir_id, today, kind)

    async def propose_again(self, choir_id: str, first: date) -> None:
        """Leave every day of a month from today on to the proposal."""
        choir = await self._choirs.get(choir_id)
        last = (first + 31 * _DAY).replace(day=1) - _DAY
        async with self._database.transaction() as change:
            kept = await plan_between(change, choir_id, max(first, self._today(choir)), last)
            for on in kept:
                await forget_plan_day(change, choir_id, on)

    async def _plan(self, choir: Choir, first: date, last: date) -> Plan:
        # What is proposed for the time until then counts too: a month begins where one ends. Days
        # that are over are not proposed any more. A week is proposed whole, and with what is kept
        # for the next, or a month's last day would read otherwise here than in its week.
        begin = max(self._today(choir), first - _AHEAD)
        end = last + (6 - last.weekday()) * _DAY + _WEEK
        offered, measures = await self._offered(choir), self._card_measures(choir)
        async with self._database.snapshot() as read:
            kept = await plan_between(read, choir.id, begin, end)
            played = await played_before(read, choir.id, begin)
        earlier = self._meetings(choir, begin - _BACK, begin - _DAY)[-(WINDOW - 1) :]
        planned = propose(
            self._meetings(choir, begin, end),
            before=[(on, played.get(on, Kind.CARD)) for on in earlier],
            kept=kept,
            used={played[on]: on for on in sorted(played)},
            offered=offered,
            card_measures=measures,
        )
        over = self._meetings(choir, first, min(begin - _DAY, last))
        days = (
            *(day_over(on, played.get(on, Kind.CARD), measures) for on in over),
            *(day for day in planned if first <= day.on <= last),
        )
        return Plan(choir=choir, today=self._today(choir), days=days, offered=offered)

    async def _offered(self, choir: Choir) -> tuple[Kind, ...]:
        """What this choir can play with what is there."""
        missing = set() if self._content.stories else {Kind.STORY}
        if choir.steps.sequence in self._content.sequences and not await self._any_tune_for(choir):
            missing.add(Kind.MYSTERY_TUNE)
        if self._card_measures(choir) < _CURTAIN_LEAST:
            missing.add(Kind.CURTAIN)
        return tuple(kind for kind in PLAYFUL if kind not in missing)

    def _card_measures(self, choir: Choir) -> int:
        """The longest line that the choir's card may have."""
        if choir.measures is not None:
            return choir.measures
        steps = choir.steps
        sequence = self._content.sequences.get(steps.sequence)
        if sequence is None:
            return _USUAL
        try:
            return max(level_of(sequence, (steps.pitch, steps.rhythm, steps.voice)).measures)
        except InputProblems:
            return _USUAL

    def _meetings(self, choir: Choir, first: date, last: date) -> Sequence[date]:
        days = meetings_from(choir.meeting, max(first, choir.starts_on))
        return tuple(takewhile(lambda day: day <= last, days))

    def _today(self, choir: Choir) -> date:
        return local_day(self._clock.now(), choir.zone)


def _near(around: Sequence[date], first: date, last: date) -> Sequence[date]:
    """The meeting days from four before `first` to four after `last`."""
    begin, end = around.index(first), around.index(last)
    return around[max(begin - WINDOW + 1, 0) : end + WINDOW]
