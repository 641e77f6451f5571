"""Telling a story to a choir: begin it, carry out a call, undo it, vote, go on by itself at home.

Each call is one transaction that adds one event to a seatless journal, so a crash loses nothing
that was acknowledged; ballots are counted and forgotten in the transaction that closes the vote.
"""

from __future__ import annotations

import asyncio
import logging
import secrets
from collections.abc import Callable
from dataclasses import dataclass
from datetime import time
from enum import StrEnum

from bot.activities import story_run as runs
from bot.activities.calendar import local_day
from bot.activities.choir import Choir
from bot.activities.story import Path, Scene
from bot.activities.story_music import FinaleMusic, SceneLine, SetStory
from bot.activities.story_run import Event, Phase, StoryRun, Venue
from bot.errors import Refused
from bot.music.pitch import Key
from bot.privacy.approval import Activity, Sheet
from bot.service.approvals import Approvals
from bot.service.changes import Changes
from bot.service.choirs import Choirs
from bot.service.clock import Clock
from bot.service.content import Content
from bot.service.makings import Made, Said, say_nothing
from bot.service.story_reading import STORY, reading_of
from bot.store import stories as rows
from bot.store.choirs import find_choir
from bot.store.database import Database, Snapshot, Transaction
from bot.store.makings import drop_wish
from bot.store.readings import add_reading, next_draw

_log = logging.getLogger(__name__)
_PLAIN_KEY = Key(fifths=0)
_FINALE = "*"  # no id of a scene begins so; the finale is that of the way walked
_MOST_STEPS = 8  # a laptop that slept catches up with so many events at a time

Frozen = Callable[[str], SetStory]
# Of the id of a story, a choir, and who hears how far it is; slow enough for a thread.
Setting = Callable[[str, Choir, Said], str]


class Sung(StrEnum):
    """What the class has sung of the scene that is up."""

    LINE = "line"
    FINALE = "finale"


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """A telling as it stands: the story with its music, where it is, how much was called."""

    telling: rows.Telling
    music: SetStory
    run: StoryRun
    calls: int
    may_undo: bool

    @property
    def scene(self) -> Scene:
        """The scene that is up."""
        return self.music.story.scene(self.run.scene)

    @property
    def visit(self) -> int:
        """Which scene of the telling this is, from 1."""
        return len(self.run.scenes)

    def key_after(self, path: Path) -> Key:
        """The key in which a path's syllable is the first note."""
        line = self.music.lines.get(path.next)
        return line.exercise.key if line is not None else self.music.story.key or _PLAIN_KEY


class Tellings:
    """Every telling of every choir. `setting` composes a story for a choir and freezes it."""

    def __init__(
        self,
        *,
        database: Database,
        choirs: Choirs,
        content: Content,
        approvals: Approvals,
        clock: Clock,
        changes: Changes,
        setting: Setting,
        frozen: Frozen,
    ) -> None:
        self._database = database
        self._choirs = choirs
        self._content = content
        self._approvals = approvals
        self._clock = clock
        self._changes = changes
        self._setting = setting
        self._frozen = frozen
        self._thawed: dict[str, SetStory] = {}
        self._hearing: list[Callable[[str], None]] = []

    def heard_by(self, hear: Callable[[str], None]) -> None:
        """Call `hear` with the choir's id whenever its story went on."""
        self._hearing.append(hear)

    def ring(self, choir_id: str) -> None:
        """Say that a choir's story went on."""
        self._changes.ring()
        for hear in self._hearing:
            hear(choir_id)

    async def begin(
        self,
        choir_id: str,
        story_id: str,
        venue: Venue,
        *,
        closes: time = time(20, 0),
        quorum: int = 1,
        said: Said = say_nothing,
    ) -> None:
        """Compose a story for a choir and open it at its first scene; takes seconds.

        `said` hears how far it is. InputProblems where a line cannot be composed, else what
        `may_begin` refuses.
        """
        await self.may_begin(choir_id, venue)
        choir = await self._choirs.get(choir_id)
        source = await asyncio.to_thread(self._setting, story_id, choir, said)
        today = local_day(self._clock.now(), choir.zone)
        telling = rows.Telling(
            id=secrets.token_hex(10),
            choir_id=choir_id,
            story_id=story_id,
            source=source,
            began_on=today,
        )
        opened = runs.Opened(venue=venue, on=today, closes=closes, quorum=quorum)
        async with self._database.transaction() as change:
            if await rows.open_telling(change, choir_id) is not None:
                raise Refused("telling.already")
            await rows.add_telling(change, telling)
            await rows.add_event(change, telling.id, 0, opened)
            await drop_wish(change, choir_id, Made.STORY.value)
        self.ring(choir_id)

    async def may_begin(self, choir_id: str, venue: Venue) -> None:
        """Refuse what cannot be begun now.

        Refused("telling.already") where a story is being told, Refused("telling.no_votes") at home
        without an approval of votes.
        """
        choir = await self._choirs.get(choir_id)
        today = local_day(self._clock.now(), choir.zone)
        sheet = await self._approvals.current(choir_id, today)
        if venue is Venue.HOME and not votes_allowed(sheet):
            raise Refused("telling.no_votes")
        if await self.now(choir_id) is not None:
            raise Refused("telling.already")

    async def now(self, choir_id: str) -> Told | None:
        """The telling that a choir is in; None between stories."""
        async with self._database.snapshot() as read:
            telling = await rows.open_telling(read, choir_id)
            return None if telling is None else await self.told(read, telling)

    async def past(self, choir_id: str) -> tuple[Told, ...]:
        """The stories that a choir was told, the newest first."""
        async with self._database.snapshot() as read:
            return tuple(
                [await self.told(read, each) for each in await rows.past_tellings(read, choir_id)]
            )

    async def call(self, choir_id: str, event: Event) -> Told:
        """Carry out what the director calls; Refused where it is not in order."""
        async with self._database.transaction() as change:
            telling = await self.open(change, choir_id)
            told = await self.carry_out(change, telling, event)
        self.ring(choir_id)
        return told

    async def undo(self, choir_id: str) -> Told:
        """Take the last call back."""
        return await self.call(choir_id, runs.Undone())

    async def reading(self, choir_id: str) -> str | None:
        """The id of the line of the scene that is up; None for a scene without one."""
        return await self._reading(choir_id, finale=False)

    async def finale(self, choir_id: str) -> str | None:
        """The id of the finale that the class earned, at an ending that has one."""
        return await self._reading(choir_id, finale=True)

    async def sings(self, choir_id: str, reading_id: str) -> Sung | None:
        """What a reading is to the story that a choir is in; None where it is nothing to it."""
        async with self._database.snapshot() as read:
            telling = await rows.open_telling(read, choir_id)
            if telling is None:
                return None
            scene = await rows.scene_of_line(read, telling.id, reading_id)
        if scene is None:
            return None
        return Sung.FINALE if scene.startswith(_FINALE) else Sung.LINE

    async def carry_out(self, change: Transaction, telling: rows.Telling, event: Event) -> Told:
        """Add an event to a journal, with all that it asks of the same transaction."""
        story = self._music(telling).story
        journal = await rows.journal(change, telling.id)
        before = runs.replay(story, journal)
        after = runs.replay(story, (*journal, event))
        assert before is not None
        assert after is not None
        await rows.add_event(change, telling.id, len(journal), event)
        if runs.Effect.DROP_BALLOTS in runs.announce(before, after):
            await rows.drop_ballots(change, telling.id)
        if after.phase is Phase.ENDED:
            choir = await find_choir(change, telling.choir_id)
            assert choir is not None
            today = local_day(self._clock.now(), choir.zone)
            await rows.end_telling(change, telling.id, today)
        return await self.told(change, telling)

    async def _reading(self, choir_id: str, *, finale: bool) -> str | None:
        choir = await self._choirs.get(choir_id)
        async with self._database.transaction() as change:
            telling = await self.open(change, choir_id)
            told = await self.told(change, telling)
            scene = _line_key(told, finale=finale)
            kept = await rows.line_of(change, telling.id, scene)
            if kept is not None:
                return kept
            music: SceneLine | FinaleMusic | None = told.music.lines.get(told.run.scene)
            if finale:
                music = told.music.finale(told.run.scenes) if told.scene.ending else None
            if music is None:
                return None
            on = local_day(self._clock.now(), choir.zone)
            draw = await next_draw(change, choir_id, on, STORY)
            made = reading_of(music, told.music.story, choir, self._content, on, draw)
            await add_reading(change, made)
            await rows.add_line(change, telling.id, scene, made.id)
            return made.id

    async def open(self, read: Snapshot, choir_id: str) -> rows.Telling:
        """The telling that a choir is in; Refused("telling.none") between stories."""
        telling = await rows.open_telling(read, choir_id)
        if telling is None:
            raise Refused("telling.none")
        return telling

    async def told(self, read: Snapshot, telling: rows.Telling) -> Told:
        """A telling as its journal says."""
        music = self._music(telling)
        journal = await rows.journal(read, telling.id)
        run = runs.replay(music.story, journal)
        assert run is not None
        return Told(
            telling=telling,
            music=music,
            run=run,
            calls=len(journal),
            may_undo=runs.may_undo(journal),
        )

    def _music(self, telling: rows.Telling) -> SetStory:
        if telling.id not in self._thawed:
            self._thawed[telling.id] = self._frozen(telling.source)
        return self._thawed[telling.id]


def _line_key(told: Told, *, finale: bool) -> str:
    """What the line of this visit is kept under: a scene that comes back has a line once more."""
    if finale:
        return _FINALE + "/".join(told.run.scenes)
    return f"{told.visit}.{told.run.scene}"


def votes_allowed(sheet: Sheet | None) -> bool:
    """Whether an approval lets seats vote."""
    return sheet is not None and Activity.VOTES in sheet.activities
