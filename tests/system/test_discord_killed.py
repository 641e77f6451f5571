"""A real process, killed at named points of a posting day and started again: one line each day."""

from __future__ import annotations

import asyncio
import os
import signal
import sqlite3
import sys
from contextlib import asynccontextmanager, closing, suppress
from datetime import date, datetime, time, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from bot.activities.calendar import local_day
from bot.chat.discord.message import PRESS_TEMPLATE
from bot.store.choirs import add_choir
from bot.store.discord_links import DiscordLink, keep_link
from bot.store.folder import DATABASE, open_database
from tests.fakes.choirs import MONDAY, NEW_YORK, a_choir
from tests.standin.library import until
from tests.standin.server import Discord, Phase
from tests.standin.world import NONCE_WINDOW_S

ROOT = Path(__file__).resolve().parents[2]
CHOIR = a_choir()
_POST = ("POST", "/channels/{channel_id}/messages")
_LOGIN = ("GET", "/users/@me")

# (request, how far it is, seconds after that): where the process dies.
POINTS = {
    "before the line to Discord stands": (_LOGIN, Phase.ARRIVED, 0.0),
    "while it connects": (_LOGIN, Phase.ANSWERED, 0.05),
    "the message is on its way": (_POST, Phase.ARRIVED, 0.0),
    "the message is stored and not answered": (_POST, Phase.STORED, 0.0),
    "the answer is on its way": (_POST, Phase.ANSWERED, 0.0),
    "a moment after the answer": (_POST, Phase.ANSWERED, 0.01),
    "when all is written down": (_POST, Phase.ANSWERED, 0.3),
}


class Lives:
    """Starts and kills processes; one at a time lives."""

    def __init__(self, nursery: asyncio.subprocess.Process, discord: Discord) -> None:
        self._nursery = nursery
        self._discord = discord
        self.kills = 0
        self.now: int | None = None

    async def begin(self, at: datetime) -> None:
        assert self._nursery.stdin is not None and self._nursery.stdout is not None
        self._nursery.stdin.write(f"{at.isoformat()}\n".encode())
        await self._nursery.stdin.drain()
        self.now = int(await self._nursery.stdout.readline())

    def kill(self) -> None:
        if self.now is not None:
            with suppress(ProcessLookupError):
                os.kill(self.now, signal.SIGKILL)
            self.kills += 1
            self.now = None

    def kill_at(self, point: str) -> None:
        """Let the process die at a named point."""
        wanted, phase, after = POINTS[point]

        def watch(seen, how_far):
            if (seen.method, seen.template) == wanted and how_far is phase:
                self._discord.watch = lambda *_: None
                if after:
                    asyncio.get_running_loop().call_later(after, self.kill)
                else:
                    self.kill()

        self._discord.watch = watch

    async def until_dead(self) -> None:
        """Until the process is gone and the folder's lock with it."""
        await until(lambda: self.now is None, 30)
        await asyncio.sleep(0.05)


@asynccontextmanager
async def lives_on(folder: Path, discord: Discord):
    nursery = await asyncio.create_subprocess_exec(
        sys.executable, "-m", "tests.system.discord_lives", folder, discord.url,
        discord.gateway.address, cwd=ROOT,
        stdin=asyncio.subprocess.PIPE, stdout=asyncio.subprocess.PIPE,
    )  # fmt: skip
    lives = Lives(nursery, discord)
    try:
        yield lives
    finally:
        lives.kill()
        nursery.kill()
        await nursery.wait()


async def set_up(folder: Path, discord: Discord) -> str:
    guild = discord.world.add_guild("a school")
    channel = discord.world.add_channel(guild, "reading")
    async with open_database(folder, born="test") as database, database.transaction() as change:
        await add_choir(change, CHOIR, local_day(_due(MONDAY), CHOIR.zone))
        link = DiscordLink(
            choir_id=CHOIR.id,
            guild_id=guild.id,
            channel_id=channel.id,
            director_role_id=guild.bot_role.id,
            linked_on=MONDAY,
        )
        await keep_link(change, link)
    return channel.id


def _due(on: date) -> datetime:
    return datetime.combine(on, time(8, 0, 1), ZoneInfo(NEW_YORK))


def _day(number: int) -> date:
    return MONDAY + timedelta(days=7 * (number // 5) + number % 5)


def _state(folder: Path, on: date) -> tuple[str, str | None] | None:
    """What the database says of a day, read from outside.

    Nothing can be read where a write was cut off, until the next life has taken it back.
    """
    try:
        return _row(folder, on)
    except sqlite3.OperationalError:
        return None


def _row(folder: Path, on: date) -> tuple[str, str | None] | None:
    with closing(sqlite3.connect(f"file:{folder / DATABASE}?mode=ro", uri=True, timeout=5)) as file:
        rows = file.execute(
            "SELECT state, message_id FROM deliveries WHERE read_on = ?", (on.isoformat(),)
        ).fetchall()
    return rows[0] if rows else None


async def a_day_with_a_death(lives, discord, folder, on, point, *, late):
    """Die at a point, begin again soon or long after, and see the day through."""
    lives.kill_at(point)
    await lives.begin(_due(on))
    await lives.until_dead()
    if late:
        discord.clock.skip(NONCE_WINDOW_S + 1)
    await lives.begin(_due(on) + timedelta(minutes=20 if late else 0, seconds=10))
    await until(lambda: (_state(folder, on) or [""])[0] == "sent", 30)
    lives.kill()
    await asyncio.sleep(0.05)


async def _die_and_live(tmp_path, kills):
    async with Discord() as discord:
        channel_id = await set_up(tmp_path, discord)
        # What is counted here is messages, not how fast they come.
        discord.limits.switched_on = False
        async with lives_on(tmp_path, discord) as lives:
            points, days = list(POINTS), []
            while lives.kills < kills:
                number = len(days)
                on, point = _day(number), points[number % len(points)]
                late = number % 2 == 1  # seven points, so that every point comes both soon and late
                await a_day_with_a_death(lives, discord, tmp_path, on, point, late=late)
                days.append(on)

        assert lives.kills >= kills
        up = discord.world.public_messages(channel_id)
        marks = [PRESS_TEMPLATE.fullmatch(one.buttons[0]["custom_id"])["mark"] for one in up]
        assert len(marks) == len(set(marks)) == len(days)
        assert [_state(tmp_path, on) for on in days] == [("sent", one.id) for one in up]
        assert discord.violations == []


async def test_killed_twenty_times_every_line_is_up_once(tmp_path):
    await _die_and_live(tmp_path, kills=20)


@pytest.mark.long
async def test_killed_two_hundred_times_every_line_is_up_once(tmp_path):
    await _die_and_live(tmp_path, kills=200)
