"""One connection to Discord: what it asks for, what it listens to, whom it leaves."""

from __future__ import annotations

import logging
import re
from collections.abc import Callable
from typing import Any, Self

import aiohttp
import discord

from bot.chat.discord.door import form_of
from bot.chat.discord.message import PRESS_TEMPLATE, press_in
from bot.chat.discord.pace import Pace, paced
from bot.chat.discord.posting import kind_of
from bot.chat.discord.presses import Presses
from bot.chat.discord.sheet import Press
from bot.chat.discord.tree import Tree, register
from bot.service.discord_links import DiscordLinks

_log = logging.getLogger(__name__)

_LONGEST_WAIT_S = 30.0  # for a route's own rate limit; the smallest that the library takes


def intents() -> discord.Intents:
    """Servers with their channels and roles; no members, no messages, nobody's presence."""
    asked = discord.Intents.none()
    asked.guilds = True
    return asked


class Connection(discord.Client):
    """discord.py's client with the least that it may ask for and keep.

    `turned` is called with True when it is ready or resumed, with False when the line is lost.
    """

    def __init__(self, links: DiscordLinks, pace: Pace, turned: Callable[[bool], None]) -> None:
        super().__init__(
            intents=intents(),
            allowed_mentions=discord.AllowedMentions.none(),
            max_messages=None,
            member_cache_flags=discord.MemberCacheFlags.none(),
            chunk_guilds_at_startup=False,
            http_trace=paced(pace),
            max_ratelimit_timeout=_LONGEST_WAIT_S,
        )
        self._links = links
        self._turned = turned
        self.tree = Tree(self)
        self.presses: Presses

    async def setup_hook(self) -> None:
        """After the login, before any event: buttons of earlier lives, and the commands."""
        self.add_dynamic_items(PressButton)
        try:
            await register(self.tree, self._links)
        except (discord.HTTPException, aiohttp.ClientError, OSError) as error:
            _log.warning("the commands were not registered: %s", kind_of(error))

    async def on_ready(self) -> None:
        """Known servers are all here now."""
        self._turned(True)
        await self.leave_strangers()

    async def on_resumed(self) -> None:
        """The line is back and nothing was missed."""
        self._turned(True)

    async def on_disconnect(self) -> None:
        """The line is lost; the library tries to get it back by itself."""
        self._turned(False)

    async def on_interaction(self, interaction: discord.Interaction[Any]) -> None:
        """Forms are answered by their id: the library forgets them with the process."""
        if (form := form_of(interaction)) is not None:
            await self.presses.form(interaction, *form)

    async def on_guild_join(self, guild: discord.Guild) -> None:
        """Somebody invited the bot."""
        await self._leave_if_stranger(guild)

    async def on_guild_remove(self, guild: discord.Guild) -> None:
        """The bot is out of a server for good (an outage does not come here)."""
        for link in await self._links.all():
            if link.guild_id == str(guild.id):
                await self._links.unlink(link.choir_id)

    async def on_error(self, event_method: str, /, *_args: object, **_kwargs: object) -> None:
        """Log which event failed, with its traceback, and nothing of what it carried."""
        _log.exception("an event of Discord failed: %s", event_method)

    async def leave_strangers(self) -> None:
        """Leave every server in which no choir is linked, unless a code still waits for its use."""
        for guild in list(self.guilds):
            await self._leave_if_stranger(guild)

    async def _leave_if_stranger(self, guild: discord.Guild) -> None:
        place = await self._links.place(str(guild.id), "")
        if place.known:
            return
        try:
            await guild.leave()
        except (discord.HTTPException, aiohttp.ClientError, OSError) as error:
            _log.warning("a server that is not on the list was not left: %s", kind_of(error))
        else:
            _log.info("left a server that is not on the list")


class PressButton(discord.ui.DynamicItem[discord.ui.Button[Any]], template=PRESS_TEMPLATE):
    """A press of any button of ours, whichever life of the program made the message."""

    def __init__(self, button: discord.ui.Button[Any], press: Press) -> None:
        super().__init__(button)
        self._press = press

    @classmethod
    async def from_custom_id(
        cls,
        interaction: discord.Interaction[Any],
        item: discord.ui.Item[Any],
        match: re.Match[str],
        /,
    ) -> Self:
        """Everything that a press needs is in the button's id."""
        assert isinstance(item, discord.ui.Button)
        return cls(item, press_in(match))

    async def callback(self, interaction: discord.Interaction[Any]) -> None:
        """Do what the button says."""
        connection = interaction.client
        assert isinstance(connection, Connection)
        await connection.presses.press(interaction, self._press)
