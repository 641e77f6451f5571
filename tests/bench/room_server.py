"""The whole program with choirs, seats and signed-in devices, as a process of its own for a bench.

    python -m tests.bench.room_server FOLDER CHOIRS SEATS

It prints its address once everything is ready. At a line on its input it begins its work, ten
seconds before the posting minute, and it ends when its input ends.
"""

from __future__ import annotations

import asyncio
import hashlib
import logging
import sys
import time
from datetime import datetime, timedelta
from pathlib import Path
from types import SimpleNamespace

from bot.app import Running, start
from bot.settings import Settings
from bot.store import seats as rows
from bot.store.seats import Seat, Visit
from tests.fakes.choirs import MONDAY, a_choir
from tests.fakes.world import NINE
from tests.service.seated import sign

TUESDAY = MONDAY + timedelta(days=1)
UNTIL_POSTING_S = 10.0
_BEFORE_EIGHT = NINE + timedelta(hours=23) - timedelta(seconds=UNTIL_POSTING_S)


class BenchClock:
    """Goes as the machine's clock does, from a moment on that can be set anew."""

    def __init__(self, began: datetime) -> None:
        self.set(began)

    def set(self, began: datetime) -> None:
        """Go on from another moment."""
        self._began, self._at = began, time.monotonic()

    def now(self) -> datetime:
        """The pretended moment."""
        return self._began + timedelta(seconds=time.monotonic() - self._at)

    async def sleep(self, seconds: float) -> None:
        """Nap for so many seconds."""
        await asyncio.sleep(seconds)


def token_of(choir: int, seat: int) -> str:
    """The token of the device at a seat; the bench knows it too."""
    return f"bench-{choir}-{seat}"


def seat_id_of(choir: int, seat: int) -> str:
    """The id of a seat."""
    return f"seat-{choir}-{seat}"


async def _furnish(program: Running, choirs: int, seats: int) -> None:
    services = program.assembly.services
    names = [f"choir-{number}" for number in range(choirs)]
    for name in names:
        await services.choirs.add(a_choir(name))
    world = SimpleNamespace(database=program.database, services=services)
    await sign(world, *names, most_seats=seats)
    sheet = await services.seating.approvals.current(names[0], MONDAY)
    assert sheet is not None
    for choir, name in enumerate(names):
        await services.readings.post_now(name)
        await services.readings.preview(name, TUESDAY)
        async with program.database.transaction(sheet.fields) as change:
            for number in range(seats):
                seat = Seat(
                    id=seat_id_of(choir, number), choir_id=name, number=number + 1, made_on=MONDAY
                )
                await rows.add_seat(change, seat)
                token = hashlib.sha256(token_of(choir, number).encode()).digest()
                visit = Visit(seat=seat, token_hash=token, opened_on=TUESDAY, remembered=False)
                await rows.begin_visit(change, visit)


async def _serve(folder: Path, choirs: int, seats: int) -> None:
    clock = BenchClock(NINE)
    settings = Settings(data=folder, port=0)
    async with start(settings, clock=clock, born="test") as program:
        await _furnish(program, choirs, seats)
        clock.set(_BEFORE_EIGHT)
        print(program.room.url, flush=True)
        await asyncio.to_thread(sys.stdin.readline)
        clock.set(_BEFORE_EIGHT)
        work = asyncio.create_task(program.run())
        await asyncio.to_thread(sys.stdin.read)
        work.cancel()
        await asyncio.gather(work, return_exceptions=True)


if __name__ == "__main__":
    logging.basicConfig(level=logging.WARNING)
    asyncio.run(_serve(Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3])))
