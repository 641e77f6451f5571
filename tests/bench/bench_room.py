"""A school at eight: open boards, the posting minute, the media worker at work, taps meanwhile.

The program runs in a process of its own; boards and singers are clients in this one, on the same
machine. Taps come at their set times whether or not the last one was answered, and each is timed
from the moment at which it was due. Afterwards every acknowledged tap is looked for in the file.
"""

from __future__ import annotations

import asyncio
import gc
import os
import sqlite3
import statistics
import sys
import tempfile
import time
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager, closing
from dataclasses import dataclass, field
from pathlib import Path

import aiohttp

from bot.store.folder import DATABASE
from tests.bench import median_s
from tests.bench.room_server import MONDAY, seat_id_of, token_of

CHOIRS, SEATS, BOARDS = 20, 50, 1000
TAPS_A_SECOND, SECONDS = 300, 25  # the posting minute comes after ten of them
_ANSWERS = ("steady", "bumpy", "not_yet")


@dataclass
class Figures:
    """What was measured: seconds of each tap and fetch, and the last answer of each seat."""

    taps: list[tuple[float, float]] = field(default_factory=list)  # when it was due, how long
    shown: list[float] = field(default_factory=list)  # when each board had the new card
    said: dict[tuple[int, int], str] = field(default_factory=dict)
    news_at: float | None = None
    load: float = 0.0


def run() -> dict[str, float]:
    """How long taps took: all of them, and those that came while boards fetched the new card."""
    with tempfile.TemporaryDirectory() as folder:
        synced = _synced_s(Path(folder))
        figures = asyncio.run(_measure(Path(folder)))
        _look_for_every_tap(Path(folder), figures)
    assert figures.news_at is not None
    last = max(figures.shown)
    taken = [took for _, took in figures.taps]
    rush = [
        took for due, took in figures.taps if due <= last and due + took >= figures.news_at
    ] or taken
    return {
        "one write synced to this disk": synced,
        "tap, median": statistics.median(taken),
        f"tap, p99 of {len(taken)} at {TAPS_A_SECOND} a second, none lost": _p99(taken),
        f"tap, p99 while {len(figures.shown)} boards fetch the new card": _p99(rush),
        "tap, slowest of all": max(taken),
        "new card on every board, after the first one was told": last - figures.news_at,
        "load of the machine before [x]": figures.load,
    }


def _p99(times: list[float]) -> float:
    return statistics.quantiles(times, n=100)[98]


def _synced_s(folder: Path) -> float:
    """What the disk itself takes for one small write that is really kept."""
    with (folder / "probe").open("wb") as file:

        def write() -> None:
            file.write(b"x" * 4096)
            file.flush()
            os.fsync(file.fileno())

        return median_s(write, runs=20)


async def _measure(folder: Path) -> Figures:
    figures = Figures(load=os.getloadavg()[0])
    async with _program(folder) as (url, begin):
        limits, quiet = aiohttp.TCPConnector(limit=0), aiohttp.ClientTimeout(total=None)
        async with aiohttp.ClientSession(connector=limits, timeout=quiet) as session:
            open_now = asyncio.Semaphore(0)
            boards = [
                asyncio.create_task(_board(session, url, number, open_now, figures))
                for number in range(BOARDS)
            ]
            for _ in boards:
                await open_now.acquire()
            # The boards' own search for garbage would count as the program's answer.
            gc.collect()
            gc.freeze()
            begin()
            await _tap_on(session, url, figures)
            await asyncio.wait(boards, timeout=30)
            for board in boards:
                board.cancel()
            ended = await asyncio.gather(*boards, return_exceptions=True)
            gc.unfreeze()
    failed = [one for one in ended if isinstance(one, BaseException)]
    if failed:
        raise AssertionError(f"{len(failed)} boards have no new card: {failed[:3]!r}")
    return figures


@asynccontextmanager
async def _program(folder: Path) -> AsyncIterator[tuple[str, Callable[[], None]]]:
    """The program in its own process: its address, and what lets it begin."""
    line = ("-m", "tests.bench.room_server", str(folder), str(CHOIRS), str(SEATS))
    pipe = asyncio.subprocess.PIPE
    process = await asyncio.create_subprocess_exec(sys.executable, *line, stdin=pipe, stdout=pipe)
    assert process.stdin is not None
    assert process.stdout is not None
    begin = process.stdin
    try:
        url = (await process.stdout.readline()).decode().strip()
        if not url:
            raise AssertionError("the program did not start")
        yield url, lambda: begin.write(b"begin\n")
    finally:
        begin.close()
        await process.wait()


async def _board(
    session: aiohttp.ClientSession,
    url: str,
    number: int,
    open_now: asyncio.Semaphore,
    figures: Figures,
) -> None:
    """An open board: it listens, and fetches itself when there is news."""
    board = f"{url}choir/choir-{number % CHOIRS}"
    async with session.get(f"{board}/live") as stream:
        heard = 0
        async for line in stream.content:
            if not line.startswith(b"data: "):
                continue
            heard += 1
            if heard == 1:
                open_now.release()
                continue
            figures.news_at = figures.news_at or time.perf_counter()
            async with session.get(board) as answer:
                page = await answer.text()
            if line[6:].strip().decode() not in page:
                raise AssertionError("a board came without the card that it was told of")
            figures.shown.append(time.perf_counter())
            return


async def _tap_on(session: aiohttp.ClientSession, url: str, figures: Figures) -> None:
    """Taps at their set times, seat after seat."""
    began = time.perf_counter()
    taps = []
    for number in range(TAPS_A_SECOND * SECONDS):
        due = began + number / TAPS_A_SECOND
        await asyncio.sleep(max(due - time.perf_counter(), 0.0))
        taps.append(asyncio.create_task(_tap(session, url, number, due, figures)))
    await asyncio.gather(*taps)


async def _tap(
    session: aiohttp.ClientSession, url: str, number: int, due: float, figures: Figures
) -> None:
    seat = divmod(number % (CHOIRS * SEATS), SEATS)
    went = _ANSWERS[(number // (CHOIRS * SEATS) + sum(seat)) % len(_ANSWERS)]
    headers = {"Origin": url.rstrip("/"), "Cookie": f"riserbell-seat={token_of(*seat)}"}
    async with session.post(
        f"{url}seat/tap",
        data={"on": MONDAY.isoformat(), "went": went},
        headers=headers,
        allow_redirects=False,
    ) as answer:
        await answer.read()
    if answer.status != 303:
        raise AssertionError(f"a tap was answered with {answer.status}")
    figures.taps.append((due, time.perf_counter() - due))
    figures.said[seat] = went


def _look_for_every_tap(folder: Path, figures: Figures) -> None:
    """What was acknowledged last for each seat stands in the file."""
    with closing(sqlite3.connect(folder / DATABASE)) as connection:
        kept = dict(connection.execute("SELECT seat_id, went FROM taps").fetchall())
    said = {seat_id_of(*seat): went for seat, went in figures.said.items()}
    if kept != said or len(said) != CHOIRS * SEATS:
        lost = [seat for seat, went in said.items() if kept.get(seat) != went]
        raise AssertionError(f"{len(lost)} taps were lost: {lost[:3]}")
