"""The whole service on a temporary folder: real store and composer, fake clock, chat and media."""

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cache
from pathlib import Path

from bot.service.content import Content, load_content
from bot.service.services import Assembly, Services, assemble
from bot.store.database import Database
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
