"""Discord as a surface: posts cards to linked channels, and stays connected as long as it runs."""

from __future__ import annotations

import asyncio
import logging
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta

import discord

from bot.chat.discord.answer import Answers
from bot.chat.discord.client import Connection
from bot.chat.discord.desk_work import DeskWork
from bot.chat.discord.door import Throttle
from bot.chat.discord.pace import Pace
from bot.chat.discord.playful_work import PlayfulWork
from bot.chat.discord.posting import channel_nonce, find_marked, kind_of, renew_once, send_once
from bot.chat.discord.presses import Presses
from bot.chat.discord.read_work import ReadWork
from bot.chat.discord.seat_work import SeatWork
from bot.chat.discord.sheet import mark_of
from bot.chat.discord.sheets import Sheets
from bot.chat.discord.tree import Work, fill
from bot.errors import Refused, SettingsProblem, SurfaceUnavailable
from bot.service.card import Card
from bot.service.changes import Changes
from bot.service.discord_gate import Opening
from bot.service.services import Services
from bot.store.discord_links import DiscordLink

_log = logging.getLogger(__name__)

_AT_ONCE = 64  # messages under way, each with its files in memory
_FIRST_PAUSE_S, _LONGEST_PAUSE_S = 5.0, 120.0  # between connections; 1000 a day are allowed
_START_S = 10.0
_STEADY = timedelta(minutes=10)
_HOUSEKEEPING_S = 600.0
_WRONG_TOKEN_CLOSE = 4004
# The date is the choir's own, by this machine's clock; messages are counted by Discord's, in UTC.
_CLOCKS_APART = timedelta(days=3)


@dataclass(frozen=True, slots=True, kw_only=True)
class DiscordOptions:
    """The bot's token, which is never shown: not in a message, a log or this value's text."""

    token: str = field(repr=False)


class DiscordSurface:
    """The surface `discord`. Run `run()` as a task; posting works while it is connected."""

    def __init__(self, services: Services, changes: Changes, options: DiscordOptions) -> None:
        self._services = services
        self._links = services.discord
        self._changes = changes
        self._options = options
        self._pace = Pace()
        self._throttle = Throttle(services.clock)
        self._sheets = Sheets(services.readings, services.content.wording)
        self._places = asyncio.Semaphore(_AT_ONCE)
        self._connection: Connection | None = None
        self._here = asyncio.Event()
        self._starting: asyncio.Event | None = None

    @property
    def name(self) -> str:
        """The surface's name in delivery rows."""
        return "discord"

    @property
    def connected(self) -> bool:
        """Whether the line to Discord stands just now."""
        return self._here.is_set()

    async def until_connected(self) -> None:
        """Wait until the line stands."""
        await self._here.wait()

    async def run(self) -> None:
        """Stay connected until cancelled; a lost network only makes it wait.

        SettingsProblem where Discord does not accept the token or what it is asked for: nothing
        but a change of settings helps then.
        """
        quieten_library()
        self._starting = asyncio.Event()
        pause = _FIRST_PAUSE_S
        while True:
            started = self._services.clock.now()
            try:
                await self._connect()
            except (discord.LoginFailure, discord.PrivilegedIntentsRequired) as error:
                raise _settings_problem(error) from error
            except discord.ConnectionClosed as error:
                if error.code == _WRONG_TOKEN_CLOSE:
                    raise _settings_problem(error) from error
                _log.warning("Discord closed the line: %s", error.code)
            except Exception as error:
                # Whatever breaks a connection, the library's own slips included, ends that one.
                _log.warning("no line to Discord: %s", kind_of(error))
            self._starting.set()
            if self._services.clock.now() - started > _STEADY:
                pause = _FIRST_PAUSE_S
            await self._services.clock.sleep(pause)
            pause = min(2 * pause, _LONGEST_PAUSE_S)

    async def carried_since(self, choir_id: str) -> date | None:
        """The first day that was linked and signed for; None where no sheet opens a channel today.

        SurfaceUnavailable while there is no line; while the program starts it waits a little for
        the first one.
        """
        opening = await self._services.seating.gate.open_for(choir_id)
        if opening is None:
            return None
        if self._starting is not None:
            with suppress(TimeoutError):
                await asyncio.wait_for(self._starting.wait(), _START_S)
        if not self._here.is_set():
            raise SurfaceUnavailable("there is no line to Discord just now")
        return opening.since

    async def post(self, card: Card, nonce: str) -> str:
        """Put a card up once in its choir's channel and return the message's id."""
        opening = await self._opening(card)
        async with self._places:
            sheet = await self._sheets.of(card, taps=opening.counts_taps)
            # Making it took its time: the sheet may have been taken away meanwhile.
            link = (await self._opening(card)).link
            return await send_once(
                self._channel(link), sheet, channel_nonce(nonce, link.channel_id)
            )

    async def find(self, card: Card) -> str | None:
        """The message's id, found by the mark in its buttons."""
        link = (await self._opening(card)).link
        channel = self._channel(link)
        connection = self._connection
        if connection is None or connection.user is None or not self._here.is_set():
            raise SurfaceUnavailable("there is no line to Discord just now")
        _check_history(connection, link)
        since = datetime.combine(card.on, time(), UTC) - _CLOCKS_APART
        return await find_marked(channel, connection.user.id, mark_of(card), since)

    async def renew(self, card: Card, message_id: str) -> None:
        """Let a message in the choir's channel say what the card says now."""
        opening = await self._opening(card)
        async with self._places:
            sheet = await self._sheets.of(card, taps=opening.counts_taps)
            link = (await self._opening(card)).link
            if not self._here.is_set():
                raise SurfaceUnavailable("there is no line to Discord just now")
            message = self._channel(link).get_partial_message(int(message_id))
            await renew_once(message, sheet)

    async def _connect(self) -> None:
        connection = Connection(self._links, self._pace, self._turned)
        say = self._services.content.wording
        answers = Answers(self._links, self._services.seating.links.tag, self._throttle, say)
        read = ReadWork(self._services, self._sheets)
        work = Work(
            read=read,
            playful=PlayfulWork(self._services, self._sheets, read),
            seats=SeatWork(self._services),
            desk=DeskWork(self._services, self._sheets),
        )
        connection.presses = Presses(answers, work.read, work.playful, work.seats, say)
        fill(connection.tree, answers, work, say)
        self._connection = connection
        housekeeping = asyncio.create_task(self._keep_house(connection))
        try:
            async with connection:
                await connection.start(self._options.token)
        finally:
            self._turned(False)
            self._connection = None
            housekeeping.cancel()
            with suppress(asyncio.CancelledError):
                await housekeeping

    async def _keep_house(self, connection: Connection) -> None:
        """Every ten minutes: codes that ran out, and servers in which nothing came of them."""
        while True:
            await self._services.clock.sleep(_HOUSEKEEPING_S)
            try:
                await self._links.drop_old_codes()
                if self._here.is_set():
                    await connection.leave_strangers()
            except Exception as error:
                _log.warning("housekeeping on Discord failed: %s", kind_of(error))

    def _turned(self, here: bool) -> None:
        if here:
            self._here.set()
            if self._starting is not None:
                self._starting.set()
            self._changes.ring()  # what could not be posted while away is looked at again
        else:
            self._here.clear()

    async def _opening(self, card: Card) -> Opening:
        opening = await self._services.seating.gate.open_for(card.choir_id)
        if opening is None:
            raise Refused("discord.not_open")
        return opening

    def _channel(self, link: DiscordLink) -> discord.PartialMessageable:
        connection = self._connection
        if connection is None or connection.user is None:
            raise SurfaceUnavailable("there is no line to Discord just now")
        return connection.get_partial_messageable(
            int(link.channel_id), guild_id=int(link.guild_id), type=discord.ChannelType.text
        )


def quieten_library() -> None:
    """Keep the libraries' debug logs off for good: they hold whole payloads, people included."""
    for name in ("discord", "aiohttp"):
        logger = logging.getLogger(name)
        logger.setLevel(max(logger.level, logging.INFO))


def _check_history(connection: Connection, link: DiscordLink) -> None:
    """Without the right to read it, the history comes back empty instead of refused."""
    channel = connection.get_channel(int(link.channel_id))
    if not isinstance(channel, discord.abc.GuildChannel):
        raise SurfaceUnavailable("the channel is not to be seen")
    allowed = channel.permissions_for(channel.guild.me)
    if not (allowed.view_channel and allowed.read_message_history):
        raise SurfaceUnavailable("the channel's history may not be read")


def _settings_problem(error: Exception) -> SettingsProblem:
    if isinstance(error, discord.PrivilegedIntentsRequired):
        return SettingsProblem("Discord refuses what the bot asks for: update Riserbell")
    return SettingsProblem(
        "Discord does not accept the bot's token: make a new one on the developer page (Bot, Reset "
        "Token) and put it where the old one was, RISERBELL_DISCORD_TOKEN or the file discord-token"
    )
