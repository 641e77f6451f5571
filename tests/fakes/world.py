"""The whole service on a temporary folder: real store and composer, fake clock, chat and media."""

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager, suppress
from dataclasses import dataclass
from datetime import UTC, date, datetime
from functools import cache
from pathlib import Path

from bot.activities.reading_day import Phase
from bot.service.content import Content, load_content
from bot.service.services import Assembly, Services, assemble
from bot.store.database import Database
from bot.store.deliveries import find_day
from bot.store.folder import open_database
from tests.fakes.clock import FakeClock
from tests.fakes.renderer import InstantRenderer
from tests.fakes.surface import FakeSurface

CONTENT = Path(__file__).parents[2] / "content"
# Monday the 14th of September 2026: six, eight and nine o'clock in New York.
SIX = datetime(2026, 9, 14, 10, 0, tzinfo=UTC)
EIGHT = datetime(2026, 9, 14, 12, 0, tzinfo=UTC)
NINE = datetime(2026, 9, 14, 13, 0, tzinfo=UTC)


@dataclass(frozen=True, slots=True, kw_only=True)
class World:
    """One run of the program; the next run takes over folder, clock and chat."""

    database: Database
    assembly: Assembly
    clock: FakeClock
    surface: FakeSurface
    media: InstantRenderer

    @property
    def services(self) -> Services:
        return self.assembly.services


@cache
def content() -> Content:
    """The program's own content."""
    return load_content([CONTENT])


@asynccontextmanager
async def open_world(
    folder: Path,
    clock: FakeClock,
    surface: FakeSurface | None = None,
    *others: FakeSurface,
) -> AsyncIterator[World]:
    """Start the program on a folder; leaving is a clean stop."""
    first = surface or FakeSurface("room")
    media = InstantRenderer()
    async with open_database(folder, born="test") as database:
        assembly = assemble(database, content(), media, clock, folder)
        for each in (first, *others):
            assembly.outlets.connect(each)
        yield World(database=database, assembly=assembly, clock=clock, surface=first, media=media)


@asynccontextmanager
async def running(folder: Path, clock: FakeClock, surface: FakeSurface) -> AsyncIterator[World]:
    """The program at work, until the block ends."""
    async with open_world(folder, clock, surface) as world:
        loop = asyncio.create_task(world.assembly.scheduler.run())
        await settled(world)
        try:
            yield world
        finally:
            loop.cancel()
            with suppress(asyncio.CancelledError):
                await loop


async def settled(world: World) -> None:
    """Wait until all that is due is done and the loop sleeps until later, or for ever."""
    async with asyncio.timeout(20):
        while (due := await world.assembly.scheduler.round()) is not None:
            if due > world.clock.now():
                await world.clock.until_asleep()
                return


async def phase_of(world: World, choir_id: str, on: date) -> Phase | None:
    """What became of a day on the world's surface."""
    async with world.database.snapshot() as read:
        day = await find_day(read, choir_id, on, world.surface.name)
    return None if day is None else day.phase
