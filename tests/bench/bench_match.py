"""The score of a match: from a call to its answer, and to the board that only watches."""

from __future__ import annotations

import asyncio
import json
import re
import statistics
import tempfile
import time
from html import unescape
from pathlib import Path

import aiohttp

from bot.activities.match_sides import Heads
from bot.chat.room.server import Room, RoomOptions
from bot.chat.room.stage_ticket import HEADER
from bot.service.match_values import MatchWish
from tests.fakes.choirs import a_choir
from tests.fakes.clock import FakeClock
from tests.fakes.world import NINE, open_world

_TURNS = 8
_WISH = MatchWish(heads=(Heads(label="Part I", count=30),), measures=4, turns=_TURNS)
_CALLS = ("study", "read", "phrase-2", "phrase-1", "on", "thrown-2")
_BOARDS = 3  # that watch: the stage, a laptop, a phone


def run() -> dict[str, float]:
    """Medians over a whole match of eight turns each, and the slowest board of twenty."""
    with tempfile.TemporaryDirectory() as folder:
        return asyncio.run(_measure(Path(folder)))


async def _measure(folder: Path) -> dict[str, float]:
    async with open_world(folder, FakeClock(NINE)) as world:
        await world.services.choirs.add(a_choir())
        before = time.perf_counter()
        await world.services.matches.set_up("choir-1", _WISH)
        drawn = time.perf_counter() - before
        room = Room(world.services, RoomOptions(port=0))
        await room.start()
        try:
            async with aiohttp.ClientSession() as session:
                answered, watched = await _play(session, room.url)
        finally:
            await room.stop()
    return {
        "call kept and answered": statistics.median(answered),
        f"score on {_BOARDS} other boards, median": statistics.median(watched),
        f"score on {_BOARDS} other boards, slowest": max(watched),
        f"sides and {2 * _TURNS + 1} lines drawn": drawn,
    }


async def _play(session: aiohttp.ClientSession, url: str) -> tuple[list[float], list[float]]:
    page = await (await session.get(f"{url}stage/choir-1/match")).text()
    found = re.search(r'data-board="([^"]*)"', page)
    assert found is not None, "the board has its state"
    given = json.loads(unescape(found[1]))
    base, headers = url.rstrip("/") + given["match"], {HEADER: given["ticket"]}
    streams = [await session.get(f"{base}/live") for _ in range(_BOARDS)]
    for stream in streams:
        await stream.content.readuntil(b"\n\n")
    answered: list[float] = []
    watched: list[float] = []
    for seen in range(6 * 2 * _TURNS):
        call = _CALLS[seen % len(_CALLS)]
        began = time.perf_counter()
        watching = [
            asyncio.create_task(_watch(session, stream, base, seen, headers)) for stream in streams
        ]
        answer = await session.post(
            f"{base}/call",
            data={"call": call, "seen": str(seen)},
            headers={**headers, "Origin": url.rstrip("/")},
        )
        assert answer.status == 200, await answer.text()
        answered.append(time.perf_counter() - began)
        watched.append(max(await asyncio.gather(*watching)) - began)
    for stream in streams:
        stream.close()
    return answered, watched


async def _watch(
    session: aiohttp.ClientSession,
    stream: aiohttp.ClientResponse,
    base: str,
    seen: int,
    headers: dict[str, str],
) -> float:
    """When a board has the state after the next call."""
    news = await stream.content.readuntil(b"\n\n")
    assert f"data: {seen + 1}".encode() in news
    answer = await session.get(f"{base}/state?seen={seen}", headers=headers)
    board = await answer.json()
    assert board["revision"] == seen + 1
    return time.perf_counter()
