"""The scene of the day on surfaces that carry messages: posted once, as readings are.

The room's board shows the scene as it stands and needs no posting.
"""

from __future__ import annotations

import logging
from dataclasses import replace
from datetime import datetime

from bot.activities.choir import Choir
from bot.activities.plan import planned
from bot.activities.reading import Reading
from bot.activities.reading_day import SETTLED, ReadingDay
from bot.activities.story_run import Phase, Venue
from bot.errors import RiserbellError, SurfaceUnavailable
from bot.service.card import Card, ReadingCard, StoryCard
from bot.service.changes import SOON, Changes, go_on
from bot.service.choirs import Choirs
from bot.service.clock import Clock
from bot.service.composing import Composing
from bot.service.content import Content
from bot.service.deliver import Deliver
from bot.service.outlet import Outlet, Outlets
from bot.service.readings import ROOM
from bot.service.story_reading import STORY
from bot.service.story_words import came_by, story_state
from bot.service.tellings import Tellings, Told

_log = logging.getLogger(__name__)


class StoryCards:
    """Makes the card of the scene that is up."""

    def __init__(self, tellings: Tellings, content: Content) -> None:
        self._tellings = tellings
        self._content = content

    async def card(self, choir: Choir, line: ReadingCard, day: ReadingDay) -> Card:
        """The scene around the card of its line; the line alone where the story has gone on."""
        told = await self._tellings.now(choir.id)
        if told is None or await self._tellings.sings(choir.id, line.reading_id) is None:
            return line
        say, name = self._content.wording, choir.presentation.solfa.name
        return StoryCard(
            key=line.key,
            choir_id=choir.id,
            on=line.on,
            title=told.music.story.title,
            came_by=came_by(told, say),
            text=told.scene.text,
            state=story_state(told, choir, say),
            strips=tuple(
                (name(path.syllable, told.key_after(path)), path.label) for path in told.scene.paths
            ),
            telling=told.telling.id,
            visit=told.visit,
            line=line,
        )


class StoryPosting:
    """Puts scenes up as tellings at home come to them."""

    def __init__(
        self,
        *,
        tellings: Tellings,
        choirs: Choirs,
        composing: Composing,
        deliver: Deliver,
        outlets: Outlets,
        clock: Clock,
        changes: Changes,
    ) -> None:
        self._tellings = tellings
        self._choirs = choirs
        self._composing = composing
        self._deliver = deliver
        self._outlets = outlets
        self._clock = clock
        self._changes = changes

    async def run(self) -> None:
        """Post for ever, whenever something changed."""
        await go_on(
            self.round, self._clock, self._changes, "scenes could not be posted and are tried again"
        )

    async def round(self) -> datetime | None:
        """Post every scene that is up and not posted yet; when to try again, None for never."""
        again = False
        for choir in await self._choirs.all():
            told = await self._tellings.now(choir.id)
            if told is None or not _is_up(told):
                continue
            reading = await self._line(choir, told)
            for outlet in await self._outlets.of(choir.id):
                if reading is not None and outlet.name != ROOM:
                    again = not await self._post(choir, reading, outlet) or again
        return self._clock.now() + SOON if again else None

    async def _line(self, choir: Choir, told: Told) -> Reading | None:
        reading_id = await self._tellings.finale(choir.id) if told.scene.ending else None
        if reading_id is None:
            reading_id = await self._tellings.reading(choir.id)
        return None if reading_id is None else await self._composing.find(reading_id)

    async def _post(self, choir: Choir, reading: Reading, outlet: Outlet) -> bool:
        """Whether nothing is left to do about a scene on a surface."""
        since = await outlet.carried_since(choir.id)
        if since is None or reading.on < since:
            return True
        plan = replace(planned(choir, reading.on), slot=STORY)
        try:
            day = await self._deliver.visit(choir, plan, outlet, at_once=True)
        except (SurfaceUnavailable, TimeoutError, RiserbellError) as error:
            _log.warning("a scene was not taken by %s: %s", outlet.name, type(error).__name__)
            return False
        return day.phase in SETTLED


def _is_up(told: Told) -> bool:
    """Whether the class has this scene before it: its vote is open, or it is an end."""
    run = told.run
    if run.venue is not Venue.HOME or run.paused:
        return False
    return run.phase is Phase.VOTING or told.scene.ending
