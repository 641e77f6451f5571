"""A real process, killed at named points of a posting day and started again.

Every day ends with its line up once, and with every acknowledged tap counted once.
"""

from __future__ import annotations

import asyncio
import os
import signal
import sqlite3
import sys
from collections import Counter
from contextlib import asynccontextmanager, closing, suppress
from datetime import date, datetime, timedelta
from pathlib import Path

import pytest

from bot.chat.discord.message import PRESS_TEMPLATE
from bot.store.folder import DATABASE
from tests.fakes.choirs import MONDAY
from tests.standin.library import until
from tests.standin.server import Discord, Phase
from tests.standin.world import NONCE_WINDOW_S, WITHOUT_HISTORY
from tests.system.discord_class import SINGERS, due, set_up

ROOT = Path(__file__).resolve().parents[2]
_POST = ("POST", "/channels/{channel_id}/messages")
_LOGIN = ("GET", "/users/@me")
_TAP = ("POST", "/interactions/{interaction_id}/{interaction_token}/callback")

# (request, how far it is, seconds after that): where the process dies.
POINTS = {
    "before the line to Discord stands": (_LOGIN, Phase.ARRIVED, 0.0),
    "while it connects": (_LOGIN, Phase.ANSWERED, 0.05),
    "the message is on its way": (_POST, Phase.ARRIVED, 0.0),
    "the message is stored and not answered": (_POST, Phase.STORED, 0.0),
    "the answer is on its way": (_POST, Phase.ANSWERED, 0.0),
    "a moment after the answer": (_POST, Phase.ANSWERED, 0.01),
    "when all is written down": (_POST, Phase.ANSWERED, 0.3),
    "a tap is kept and not acknowledged": (_TAP, Phase.ARRIVED, 0.0),
    "a tap is acknowledged and the program has not heard so": (_TAP, Phase.STORED, 0.0),
    "a moment after a tap": (_TAP, Phase.ANSWERED, 0.01),
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


async def a_day_with_a_death(lives, discord, folder, singers, on, point, *, late):
    """Die at a point, begin again soon or long after, and see the day through."""
    lives.kill_at(point)
    await lives.begin(due(on))
    if POINTS[point][0] == _TAP:
        await until(lambda: _sent(folder, on), 30)
        await singers.read(on, _card(discord, singers), until_dead=lambda: lives.now is None)
    await lives.until_dead()
    if late:
        discord.clock.skip(NONCE_WINDOW_S + 1)
    lines = len(discord.gateway.identified)
    await lives.begin(due(on) + timedelta(minutes=20 if late else 0, seconds=10))
    await until(lambda: _sent(folder, on) and len(discord.gateway.identified) > lines, 30)
    await singers.read(on, _card(discord, singers), until_dead=lambda: False)
    lives.kill()
    await asyncio.sleep(0.05)


def _sent(folder, on):
    return (_state(folder, on) or [""])[0] == "sent"


def _card(discord, singers):
    return discord.world.public_messages(singers.channel.id)[-1]


def _counted(folder, table):
    """How many taps the database counts for each day, in one table or the other."""
    amount = {"taps": "count(*)", "class_counts": "sum(amount)"}[table]
    sql = f"SELECT read_on, {amount} FROM {table} GROUP BY read_on"  # noqa: S608 - names of ours
    with closing(sqlite3.connect(f"file:{folder / DATABASE}?mode=ro", uri=True, timeout=5)) as file:
        return {date.fromisoformat(on): number for on, number in file.execute(sql)}


async def _die_and_live(tmp_path, kills):
    async with Discord() as discord:
        singers = await set_up(tmp_path, discord)
        # What is counted here is messages, not how fast they come.
        discord.limits.switched_on = False
        async with lives_on(tmp_path, discord) as lives:
            points, days = list(POINTS), []
            while lives.kills < kills:
                number = len(days)
                on, point = _day(number), points[number % len(points)]
                late = (number + number // len(points)) % 2 == 1  # every point comes both ways
                await a_day_with_a_death(lives, discord, tmp_path, singers, on, point, late=late)
                days.append(on)

        assert lives.kills >= kills
        up = discord.world.public_messages(singers.channel.id)
        marks = [PRESS_TEMPLATE.fullmatch(one.buttons[0]["custom_id"])["mark"] for one in up]
        assert len(marks) == len(set(marks)) == len(days)
        assert [_state(tmp_path, on) for on in days] == [("sent", one.id) for one in up]
        everybody = {singer.user.id for singer in singers.singers}
        assert singers.acknowledged == dict.fromkeys(days, everybody)
        counted = Counter(_counted(tmp_path, "taps")) + Counter(_counted(tmp_path, "class_counts"))
        assert counted == Counter(dict.fromkeys(days, SINGERS))
        assert discord.violations == []


async def test_killed_twenty_times_every_line_is_up_once_and_every_tap_counts_once(tmp_path):
    await _die_and_live(tmp_path, kills=20)


@pytest.mark.long
@pytest.mark.parametrize(
    ("late", "ends"), [(False, "sent"), (True, "unsure")], ids=["soon", "late"]
)
async def test_without_the_history_nothing_goes_up_twice_either(tmp_path, late, ends):
    """A late look cannot tell, and says so; a soon one has the nonce."""
    async with Discord() as discord:
        singers = await set_up(tmp_path, discord, WITHOUT_HISTORY)
        async with lives_on(tmp_path, discord) as lives:
            lives.kill_at("the message is stored and not answered")
            await lives.begin(due(MONDAY))
            await lives.until_dead()
            if late:
                discord.clock.skip(NONCE_WINDOW_S + 1)
            # Whether it arrived stays open for some minutes; then it counts as unsure.
            later = timedelta(hours=1) if late else timedelta(seconds=10)
            await lives.begin(due(MONDAY) + later)
            await until(lambda: (_state(tmp_path, MONDAY) or [""])[0] == ends, 30)

        assert len(discord.world.public_messages(singers.channel.id)) == 1
        assert discord.violations == []


@pytest.mark.long
async def test_killed_two_hundred_times_every_line_is_up_once_and_every_tap_counts_once(tmp_path):
    await _die_and_live(tmp_path, kills=200)
