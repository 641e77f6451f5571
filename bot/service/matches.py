"""Matches of a choir: set up, called, resumed after whatever happened, and added up for a term."""

from __future__ import annotations

import asyncio
import secrets
from collections import OrderedDict
from dataclasses import replace
from datetime import date, timedelta

from bot.activities.calendar import local_day
from bot.activities.choir import Choir
from bot.activities.match import replay
from bot.activities.match_board import Cue, Told, announce
from bot.activities.match_call import Call
from bot.activities.match_rules import MOST_TURNS, Ending, Rules, Side
from bot.activities.match_sides import Heads, draw_sides
from bot.activities.match_state import LineShape, Setup, Stop
from bot.activities.reading import Reading, draw_seed
from bot.errors import Refused
from bot.service.cards import card_of
from bot.service.changes import Changes
from bot.service.choirs import Choirs
from bot.service.clock import Clock
from bot.service.content import Content
from bot.service.lesson_line import signs
from bot.service.makings import Made, Said, say_nothing
from bot.service.match_house import MatchHouse
from bot.service.match_lines import SLOT, draw_lines
from bot.service.match_values import MatchLine, MatchSum, MatchWish, Played
from bot.service.part_tables import PartTables
from bot.store import matches as rows
from bot.store.database import Database, Snapshot
from bot.store.makings import drop_wish
from bot.store.readings import add_reading, find_reading, history, next_draw

TERM = timedelta(days=183)  # how far back the desk adds up
_NEWS = frozenset({Cue.BATON, Cue.JOINT, Cue.DONE, Cue.TAKEN_BACK})
_REMEMBERED = 16  # matches whose beginning is held in memory
_MOST_CALLS = 2000  # of one match, so that no page can fill a disk


class Matches:
    """What stage, referee's page and desk call. Every call is kept before it is answered."""

    def __init__(
        self,
        database: Database,
        choirs: Choirs,
        content: Content,
        clock: Clock,
        changes: Changes,
        tables: PartTables | None = None,
    ) -> None:
        self._database = database
        self._choirs = choirs
        self._content = content
        self._clock = clock
        self._changes = changes
        self._tables = tables
        self._one_at_a_time = asyncio.Lock()
        self.house = MatchHouse(database, content)
        # What a match began with never changes, so it is read once.
        self._begun: OrderedDict[str, tuple[Setup, tuple[str, ...]]] = OrderedDict()

    async def may_set_up(self, choir_id: str, wish: MatchWish) -> None:
        """Refused("match.heads"), Refused("match.turns") for what no match can be drawn from."""
        draw_sides(wish.heads, await self._rules_for(choir_id, wish), 0)

    async def _rules_for(self, choir_id: str, wish: MatchWish) -> Rules:
        rules = await self.house.of(choir_id)
        if wish.measures not in rules.study or not 1 <= wish.turns <= MOST_TURNS:
            raise Refused("match.turns", most=MOST_TURNS)
        return rules

    async def set_up(self, choir_id: str, wish: MatchWish, said: Said = say_nothing) -> str:
        """Draw sides and compose all lines; the id of the match. `said` hears how far it is.

        What `may_set_up` and the composer refuse.
        """
        rules = await self._rules_for(choir_id, wish)
        choir = await self._choirs.get(choir_id)
        on = local_day(self._clock.now(), choir.zone)
        async with self._one_at_a_time:
            async with self._database.snapshot() as read:
                number = await rows.next_match_number(read, choir_id)
                first = await next_draw(read, choir_id, on, SLOT)
                seen = await history(read, choir_id)
            seed = draw_seed(choir_id, on, number, "match sides")
            draw_sides(wish.heads, rules, seed)
            readings = await asyncio.to_thread(
                draw_lines,
                choir,
                self._content,
                on,
                first,
                tuple(seen.values()),
                pairs=wish.turns,
                measures=wish.measures,
                said=said,
                tables=self._tables,
            )
            kept = _used(readings, rules)
            return await self._keep(choir, on, number, seed, wish, rules, kept)

    async def _keep(
        self,
        choir: Choir,
        on: date,
        number: int,
        seed: int,
        wish: MatchWish,
        rules: Rules,
        readings: tuple[Reading, ...],
    ) -> str:
        begun = rows.Begun(
            rules=rules,
            heads=wish.heads,
            seed=seed,
            turns=wish.turns,
            lines=tuple(_shape(reading) for reading in readings),
        )
        match = rows.MatchRow(
            id=secrets.token_hex(10),
            choir_id=choir.id,
            number=number,
            on=on,
            begun=begun,
            ended=False,
            left=0,
            right=0,
        )
        async with self._database.transaction() as change:
            for reading in readings:
                await add_reading(change, reading)
            await rows.add_match(change, match, [reading.id for reading in readings])
            await drop_wish(change, choir.id, Made.MATCH.value)
        return match.id

    async def find(self, match_id: str) -> Played:
        """A match as it stands; Refused("match.unknown")."""
        async with self._database.snapshot() as read:
            return await self._found(read, match_id)

    async def line(self, match_id: str, reading_id: str) -> MatchLine:
        """One of the lines of a match; Refused("match.unknown") for any other."""
        played = await self.find(match_id)
        async with self._database.snapshot() as read:
            reading = await find_reading(read, reading_id)
        if reading is None or reading_id not in played.lines:
            raise Refused("match.unknown")
        choir, exercise = await self._choirs.get(played.choir_id), reading.exercise
        pages = range(len(reading.parts) if len(exercise.parts) == 1 else 1)
        return MatchLine(
            card=card_of(reading, choir, self._content.wording),
            pages=tuple(signs(reading, part) for part in pages),
            pulses=float(exercise.length / exercise.metre.pulse),
            pickup=float(exercise.pickup / exercise.metre.pulse),
        )

    async def open_of(self, choir_id: str) -> Played | None:
        """Today's match of a choir that has not ended, the latest; None where there is none."""
        played = await self.latest_of(choir_id)
        return None if played is None or played.match.stop is Stop.DONE else played

    async def latest_of(self, choir_id: str) -> Played | None:
        """The match that `open_of` gives, or else today's last one, whose end may be taken back."""
        choir = await self._choirs.get(choir_id)
        today = local_day(self._clock.now(), choir.zone)
        async with self._database.snapshot() as read:
            kept = await rows.matches_of(read, choir_id, today)
            kept = tuple(match for match in kept if not match.ended) or kept
            return await self._found(read, kept[0].id) if kept else None

    async def call(self, match_id: str, call: Call, seen: int) -> tuple[Played, tuple[Told, ...]]:
        """Make a call on the state that was seen, and what it is worth telling.

        Refused("match.moved_on") where somebody else called meanwhile, Refused("match.not_now")
        and its like where the rules do not have it.
        """
        async with self._database.transaction() as change:
            before = await self._found(change, match_id)
            if seen != before.revision:
                raise Refused("match.moved_on")
            if seen >= _MOST_CALLS:
                raise Refused("match.not_now")
            journal = (*before.journal, call)
            match = replay(before.match.setup, journal)
            await rows.add_call(change, match_id, seen, call)
            left, right = (match.score(side) for side in Side)
            ended = match.stop is Stop.DONE
            await rows.keep_score(change, match_id, left, right, ended=ended)
        told = announce(before.match, match)
        if any(each.cue in _NEWS for each in told):
            self._changes.ring()  # a card of the score may be due
        return replace(before, match=match, journal=journal), told

    async def told(self, match_id: str, seen: int) -> tuple[Played, tuple[Told, ...]]:
        """A match as it stands, with what its last call told for who has seen all but that."""
        now = await self.find(match_id)
        if seen != now.revision - 1:
            return now, ()
        return now, announce(replay(now.match.setup, now.journal[:-1]), now.match)

    async def choir_of(self, match_id: str) -> str:
        """The id of the choir that plays a match; Refused("match.unknown")."""
        async with self._database.snapshot() as read:
            kept = await rows.find_match(read, match_id)
        if kept is None:
            raise Refused("match.unknown")
        return kept.choir_id

    async def term(self, choir_id: str) -> tuple[MatchSum, ...]:
        """The matches of the last half year, the latest first."""
        choir = await self._choirs.get(choir_id)
        first = local_day(self._clock.now(), choir.zone) - TERM
        async with self._database.snapshot() as read:
            kept = await rows.matches_of(read, choir_id, first)
        return tuple(
            MatchSum(
                id=match.id,
                on=match.on,
                number=match.number,
                ended=match.ended,
                left_name=match.begun.rules.left,
                right_name=match.begun.rules.right,
                left=match.left,
                right=match.right,
            )
            for match in kept
        )

    async def score_today(self, choir_id: str) -> MatchSum | None:
        """The latest match of a choir's own date; None where none was set up."""
        choir = await self._choirs.get(choir_id)
        today = local_day(self._clock.now(), choir.zone)
        term = await self.term(choir_id)
        return term[0] if term and term[0].on == today else None

    async def last_heads(self, choir_id: str) -> tuple[Heads, ...]:
        """How many singers each part had at the last match, for the next one's form."""
        async with self._database.snapshot() as read:
            kept = await rows.matches_of(read, choir_id, date.min)
        return kept[0].begun.heads if kept else ()

    async def _found(self, read: Snapshot, match_id: str) -> Played:
        kept = await rows.find_match(read, match_id)
        if kept is None:
            raise Refused("match.unknown")
        setup, lines = await self._setup(read, kept)
        journal = await rows.journal_of(read, match_id)
        return Played(
            id=kept.id,
            choir_id=kept.choir_id,
            on=kept.on,
            number=kept.number,
            match=replay(setup, journal),
            journal=journal,
            lines=lines,
        )

    async def _setup(self, read: Snapshot, kept: rows.MatchRow) -> tuple[Setup, tuple[str, ...]]:
        if kept.id not in self._begun:
            begun = kept.begun
            setup = Setup(
                rules=begun.rules,
                sides=draw_sides(begun.heads, begun.rules, begun.seed),
                turns=begun.turns,
                lines=begun.lines,
            )
            self._begun[kept.id] = setup, await rows.lines_of_match(read, kept.id)
            while len(self._begun) > _REMEMBERED:
                self._begun.popitem(last=False)
        return self._begun[kept.id]


def _used(readings: tuple[Reading, ...], rules: Rules) -> tuple[Reading, ...]:
    """All lines, or all but the joint one where the house ends without it."""
    return readings if rules.ending is Ending.JOINT else readings[:-1]


def _shape(reading: Reading) -> LineShape:
    line = reading.exercise
    return LineShape(measures=line.measures, beats=line.metre.pulses)
