"""The real service with pictures and sounds that are really made, in this very process."""

import asyncio
import threading
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from functools import lru_cache
from pathlib import Path

from bot.media.render import make
from bot.service.services import Services, assemble
from bot.store.folder import open_database
from tests.fakes.clock import FakeClock
from tests.fakes.world import content

_ONE_AT_A_TIME = threading.Lock()  # the engraver is not for two threads at once


@lru_cache(maxsize=2000)
def _made(request: object) -> bytes:
    return make(request)


def _make(request: object) -> bytes:
    with _ONE_AT_A_TIME:
        return _made(request)


class DrawingMedia:
    """The media cache without a process of its own; what was made once is kept for the session."""

    async def get_or_make(self, request: object) -> bytes:
        return await asyncio.to_thread(_make, request)


@asynccontextmanager
async def open_services(folder: Path, clock: FakeClock) -> AsyncIterator[Services]:
    """Services over a database in the folder."""
    async with open_database(folder, born="test") as database:
        yield assemble(database, content(), DrawingMedia(), clock, folder).services
