"""The one place that builds adapters: opens everything in order, runs it, closes it in reverse."""

from __future__ import annotations

import asyncio
import gc
import logging
import signal
import time
import webbrowser
from collections.abc import AsyncIterator, Callable, Iterator
from contextlib import AsyncExitStack, asynccontextmanager, contextmanager
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from bot.chat.discord.surface import DiscordOptions, DiscordSurface
from bot.chat.room.pack import Wish, choir_named, write_pack
from bot.chat.room.plan_words import plan_lines
from bot.chat.room.safety import Address
from bot.chat.room.server import Room, RoomOptions
from bot.errors import Refused, SettingsProblem
from bot.media.cache import MediaCache
from bot.media.worker import MediaWorker
from bot.privacy.approval import Transport
from bot.service.approvals import Circumstances
from bot.service.clock import Clock
from bot.service.content import load_content
from bot.service.demo import Demo
from bot.service.desk import Desk
from bot.service.services import Assembly, Services, assemble
from bot.service.zone import machine_zone
from bot.settings import Settings, content_root
from bot.store.database import Database
from bot.store.folder import lock, open_database

_LONGEST_NAP_S = 20.0  # so that a laptop that slept, or a clock set anew, is noticed
_log = logging.getLogger(__name__)


class SystemClock:
    """The machine's clock."""

    def now(self) -> datetime:
        """The present moment in UTC."""
        return datetime.now(UTC)

    async def sleep(self, seconds: float) -> None:
        """Nap until the wall clock has moved on by so many seconds."""
        until = self.now() + timedelta(seconds=seconds)
        # Not one long sleep: the loop's clock stands still while a laptop sleeps.
        while (left := (until - self.now()).total_seconds()) > 0:  # noqa: ASYNC110
            await asyncio.sleep(min(left, _LONGEST_NAP_S))


class ShiftedClock:
    """Goes as the machine's clock does, from another moment on; for demo data only."""

    def __init__(self, began: datetime) -> None:
        self._began, self._at = began.astimezone(UTC), time.monotonic()

    def now(self) -> datetime:
        """The pretended moment in UTC."""
        return self._began + timedelta(seconds=time.monotonic() - self._at)

    async def sleep(self, seconds: float) -> None:
        """Nap for so many seconds."""
        await asyncio.sleep(seconds)


def _say_nothing(_line: str) -> None:
    """For a run that nobody watches."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Running:
    """A program that is up: its address, its parts, and `run`, which goes on for ever."""

    room: Room
    assembly: Assembly
    database: Database
    discord: DiscordSurface | None

    async def run(self, announce: Callable[[str], None] = _say_nothing) -> None:
        """Post, prepare and, where it is set up, stay connected to Discord."""
        with _built_is_kept():
            await self._run(announce)

    async def _run(self, announce: Callable[[str], None]) -> None:
        async with asyncio.TaskGroup() as tasks:
            tasks.create_task(self.assembly.scheduler.run())
            tasks.create_task(self.assembly.services.seating.keeper.run())
            tasks.create_task(self.assembly.services.stories.votes.run())
            tasks.create_task(self.assembly.story_posting.run())
            tasks.create_task(self.assembly.services.makings.run())
            tasks.create_task(self.assembly.score_posting.run())
            if self.discord is not None:
                tasks.create_task(self._stay_on_discord(self.discord, announce))

    async def _stay_on_discord(
        self, surface: DiscordSurface, announce: Callable[[str], None]
    ) -> None:
        """Stay connected; where a setting forbids it, say so, and the room goes on alone."""
        waiting = asyncio.ensure_future(surface.until_connected())
        say = self.assembly.services.content.wording
        waiting.add_done_callback(
            lambda done: None if done.cancelled() else announce(say("program.discord_on"))
        )
        try:
            await surface.run()
        except SettingsProblem as problem:
            announce(str(problem))
        finally:
            waiting.cancel()


@contextmanager
def _built_is_kept() -> Iterator[None]:
    """Spare the search for garbage whatever was built at the start and stays to the end.

    To go through all of it again and again would hold up every tap for a tenth of a second.
    """
    gc.collect()
    gc.freeze()
    try:
        yield
    finally:
        gc.unfreeze()


@asynccontextmanager
async def start(
    settings: Settings, *, clock: Clock | None = None, token: str | None = None, born: str = ""
) -> AsyncIterator[Running]:
    """Open data, worker and surfaces; the room answers once this is entered.

    `clock` and `born` are for tests; `token` adds Discord. SettingsProblem says what to change
    where something cannot be opened.
    """
    if settings.now is not None and not settings.demo:
        raise SettingsProblem("--now moves the clock of demo data only: add --demo")
    if settings.demo and token is not None:
        raise SettingsProblem("invented data never go to Discord: leave --demo or the token out")
    born = born or settings.born
    if clock is None:
        clock = ShiftedClock(settings.now) if settings.now else SystemClock()
    elif born == "real":
        raise SettingsProblem("a school's data follow the machine's clock")
    async with AsyncExitStack() as stack:
        content = await asyncio.to_thread(load_content, settings.content_folders)
        database = await stack.enter_async_context(open_database(settings.data, born=born))
        worker = await stack.enter_async_context(MediaWorker())
        media = MediaCache(settings.cache, worker)
        assembly = assemble(
            database, content, media, clock, settings.data, _circumstances(settings, token)
        )
        if born == "demo":
            await _plant_demo(database, assembly, clock, settings.data, stack)
        room = Room(
            assembly.services,
            RoomOptions(
                host=settings.host,
                port=settings.port,
                public_url=settings.public_url,
                demo=settings.demo,
            ),
        )
        assembly.outlets.connect(room)
        await room.start()
        stack.push_async_callback(room.stop)
        discord = _discord(assembly, token)
        yield Running(room=room, assembly=assembly, database=database, discord=discord)


async def pack(settings: Settings, wish: Wish, folder: Path) -> list[Path]:
    """Write what a choir takes home into a folder, while the room is stopped.

    Refused("takehome.busy") where it runs: lines of coming days may have to be drawn, and only one
    process draws.
    """
    worker = MediaWorker()
    async with _while_stopped(settings, worker, "takehome.busy") as services, worker:
        return await write_pack(services, wish, folder)


async def plan(settings: Settings, choir: str, week: date | None) -> list[str]:
    """The plan of a choir's week in lines of text; Refused("plan.busy") while the room runs."""
    # Nothing is engraved or sounded for a plan, so the worker is not begun.
    async with _while_stopped(settings, MediaWorker(), "plan.busy") as services:
        found = await choir_named(services, choir)
        return plan_lines(services.content.wording, await services.plans.week(found.id, week))


@asynccontextmanager
async def _while_stopped(
    settings: Settings, worker: MediaWorker, busy: str
) -> AsyncIterator[Services]:
    """The services without any surface; Refused(`busy`) where the program runs."""
    try:
        with lock(settings.data):
            pass
    except SettingsProblem as held:
        raise Refused(busy) from held
    content = await asyncio.to_thread(load_content, settings.content_folders)
    async with open_database(settings.data, born=settings.born) as database:
        media = MediaCache(settings.cache, worker)
        clock = ShiftedClock(settings.now) if settings.now else SystemClock()
        yield assemble(database, content, media, clock, settings.data).services


async def reset_passphrase(settings: Settings, text: str) -> None:
    """Set the desk's passphrase anew while the room is stopped."""
    async with open_database(settings.data, born=settings.born) as database:
        await Desk(database).set_passphrase(text)


async def serve(
    settings: Settings,
    *,
    announce: Callable[[str], None],
    open_browser: bool = False,
    token: str | None = None,
) -> int:
    """Run until SIGTERM or SIGINT; the exit code is 0."""
    ended = asyncio.Event()
    loop = asyncio.get_running_loop()
    for sign in (signal.SIGTERM, signal.SIGINT):
        loop.add_signal_handler(sign, ended.set)
    async with start(settings, token=token) as running:
        say = running.assembly.services.content.wording
        announce(say("program.serving", url=running.room.url, folder=str(settings.data)))
        if open_browser:
            await asyncio.to_thread(_open_browser, running.room.url)
        work = asyncio.ensure_future(running.run(announce))
        end = asyncio.ensure_future(ended.wait())
        try:
            await asyncio.wait((work, end), return_when=asyncio.FIRST_COMPLETED)
            if work.done():
                _raise_first(work)
        finally:
            for task in (work, end):
                task.cancel()
            await asyncio.gather(work, end, return_exceptions=True)
    return 0


async def _plant_demo(
    database: Database, assembly: Assembly, clock: Clock, folder: Path, stack: AsyncExitStack
) -> None:
    """Plant the invented choirs; their past fills in beside the running program."""
    demo = Demo(
        database,
        assembly.services.content,
        clock,
        content_root() / "demo" / "choirs.toml",
        machine_zone(),
    )
    planted = await demo.plant()
    await demo.seat(planted, folder)
    filling = asyncio.ensure_future(demo.fill(planted))

    async def stop_filling() -> None:
        filling.cancel()
        await asyncio.gather(filling, return_exceptions=True)

    stack.push_async_callback(stop_filling)


def _circumstances(settings: Settings, token: str | None) -> Circumstances:
    """How this run is reached, which an approval allows or does not."""
    address = Address(host=settings.host, port=settings.port, public_url=settings.public_url)
    if address.secure:
        transport = Transport.TLS
    else:
        transport = Transport.LOOPBACK if address.on_loopback else Transport.PLAIN_HTTP
    return Circumstances(transport=transport, discord=token is not None)


def _discord(assembly: Assembly, token: str | None) -> DiscordSurface | None:
    if token is None:
        return None
    surface = DiscordSurface(assembly.services, assembly.changes, DiscordOptions(token=token))
    assembly.outlets.connect(surface)
    return surface


def _raise_first(work: asyncio.Future[None]) -> None:
    """Raise what ended the work: a setting to change as itself, anything else as it came."""
    error = work.exception()
    while isinstance(error, BaseExceptionGroup):
        error = error.exceptions[0]
    if error is not None:
        raise error


def _open_browser(url: str) -> None:
    try:
        webbrowser.open(url)
    except webbrowser.Error as error:
        _log.info("no browser was opened: %s", error)
