"""Lives of the program that post to the stand-in and answer presses, each a process to be killed.

`python -m tests.system.discord_lives FOLDER URL GATEWAY` loads everything once and then forks: one
life for each line on its input, a moment in ISO form at which that life believes to begin. It
prints the process id of each.
"""

from __future__ import annotations

import asyncio
import os
import signal
import sys
import time
from contextlib import suppress
from datetime import datetime, timedelta
from pathlib import Path

from bot.chat.discord.surface import DiscordOptions, DiscordSurface
from bot.service.services import assemble
from bot.store.folder import open_database
from tests.fakes.renderer import InstantRenderer
from tests.fakes.world import content
from tests.standin.library import library_at
from tests.standin.server import TOKEN


class BorrowedClock:
    """Goes as the machine's clock does, from another moment on."""

    def __init__(self, began: datetime) -> None:
        self._began, self._at = began, time.monotonic()

    def now(self) -> datetime:
        return self._began + timedelta(seconds=time.monotonic() - self._at)

    async def sleep(self, seconds: float) -> None:
        await asyncio.sleep(seconds)


async def live(folder: Path, url: str, gateway: str, began: datetime) -> None:
    """Post whatever is due, count taps, keep house, until killed."""
    clock = BorrowedClock(began)
    async with open_database(folder, born="test") as database:
        assembly = assemble(database, content(), InstantRenderer(), clock, folder)
        options = DiscordOptions(token=TOKEN)
        with library_at(url, gateway):
            surface = DiscordSurface(assembly.services, assembly.changes, options)
            assembly.outlets.connect(surface)
            async with asyncio.TaskGroup() as tasks:
                tasks.create_task(surface.run())
                tasks.create_task(assembly.scheduler.run())
                tasks.create_task(assembly.services.seating.keeper.run())
                tasks.create_task(assembly.score_posting.run())


def main() -> None:
    """Fork a life a line."""
    folder, url, gateway = Path(sys.argv[1]), sys.argv[2], sys.argv[3]
    content()
    signal.signal(signal.SIGCHLD, signal.SIG_IGN)  # the dead are not waited for
    for line in sys.stdin:
        child = os.fork()
        if child == 0:
            signal.signal(signal.SIGCHLD, signal.SIG_DFL)
            with suppress(KeyboardInterrupt):
                asyncio.run(live(folder, url, gateway, datetime.fromisoformat(line.strip())))
            os._exit(0)
        print(child, flush=True)


if __name__ == "__main__":
    main()
