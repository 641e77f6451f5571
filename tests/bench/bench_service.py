"""The store and the service: a kept write, a line for three voices, a posting, a board."""

from __future__ import annotations

import asyncio
import statistics
import tempfile
import time
from collections.abc import Awaitable, Callable
from datetime import timedelta
from pathlib import Path

from bot.store.desk import keep_passphrase_hash
from tests.fakes.choirs import BARITONE, CHANGING, MONDAY, TREBLE, a_choir
from tests.fakes.clock import FakeClock
from tests.fakes.world import SIX, World, open_world

_CHOIR = a_choir(voices=(TREBLE, CHANGING, BARITONE))
_DAYS = 20


def run() -> dict[str, float]:
    """Medians of twenty on a temporary folder; the first is a write synced to the disk."""
    with tempfile.TemporaryDirectory() as folder:
        return asyncio.run(_measure(Path(folder)))


async def _measure(folder: Path) -> dict[str, float]:
    async with open_world(folder, FakeClock(SIX)) as world:
        await world.services.choirs.add(_CHOIR)
        days = iter(range(_DAYS))
        figures = {
            "transaction with one write": await _median_s(lambda: _write(world)),
            "line composed and kept, 3 voices": await _median_s(
                lambda: world.services.readings.preview(
                    _CHOIR.id, MONDAY + timedelta(days=next(days))
                )
            ),
        }
        for _ in range(_DAYS):
            await world.services.readings.post_now(_CHOIR.id)
            await world.clock.advance(timedelta(days=1))
        quiet = "round of the scheduler, nothing due"
        board = f"board of {_DAYS} cards"
        return figures | {
            quiet: await _median_s(world.assembly.scheduler.round),
            board: await _median_s(lambda: world.services.readings.board(_CHOIR.id)),
            "coming five days": await _median_s(
                lambda: world.services.readings.upcoming(_CHOIR.id)
            ),
            "status page": await _median_s(lambda: world.services.status()),
        }


async def _write(world: World) -> None:
    async with world.database.transaction() as change:
        await keep_passphrase_hash(change, "a hash")


async def _median_s(work: Callable[[], Awaitable[object]]) -> float:
    taken = []
    for _ in range(_DAYS):
        before = time.perf_counter()
        await work()
        taken.append(time.perf_counter() - before)
    return statistics.median(taken)
