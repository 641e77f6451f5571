"""The whole program on a folder with a clock set by hand, from its start to its end."""

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path

from bot.app import Running, start
from bot.settings import Settings
from tests.fakes.clock import FakeClock


@asynccontextmanager
async def running(folder: Path, clock: FakeClock, port: int = 0) -> AsyncIterator[Running]:
    """One life of the program; the next one takes over the folder."""
    async with start(Settings(data=folder, port=port), clock=clock, born="test") as program:
        work = asyncio.create_task(program.run())
        try:
            yield program
        finally:
            work.cancel()
            await asyncio.gather(work, return_exceptions=True)
