"""What exists in the stand-in: a clock, ids, servers, channels, people, messages."""

from __future__ import annotations

import itertools
import time
from dataclasses import dataclass, field
from typing import Any

Json = dict[str, Any]

VIEW_CHANNEL = 1 << 10
SEND_MESSAGES = 1 << 11
EMBED_LINKS = 1 << 14
ATTACH_FILES = 1 << 15
READ_MESSAGE_HISTORY = 1 << 16
MANAGE_GUILD = 1 << 5
FULL = VIEW_CHANNEL | SEND_MESSAGES | EMBED_LINKS | ATTACH_FILES | READ_MESSAGE_HISTORY
WITHOUT_HISTORY = FULL & ~READ_MESSAGE_HISTORY

_EPOCH_MS = 1420070400000  # Discord's first second, 2015-01-01
NONCE_WINDOW_S = 180.0  # "a few minutes"; Discord does not publish the figure


class Clock:
    """The machine's clock, which a test may push forward."""

    def __init__(self) -> None:
        self._ahead = 0.0

    def now(self) -> float:
        """Seconds on a clock that only goes forward."""
        return time.monotonic() + self._ahead

    def wall(self) -> float:
        """Seconds since 1970."""
        return time.time() + self._ahead

    def skip(self, seconds: float) -> None:
        """Let so much time pass at once."""
        self._ahead += seconds


@dataclass(kw_only=True)
class Role:
    id: str
    name: str
    permissions: int = 0


@dataclass(kw_only=True)
class Channel:
    """A text channel; `bot_denied` are permissions that an overwrite takes from the bot here."""

    id: str
    guild_id: str
    name: str
    bot_denied: int = 0


@dataclass(kw_only=True)
class Guild:
    """A server. Its first role is @everyone (same id as the server), its second the bot's."""

    id: str
    name: str
    roles: list[Role]
    channels: list[Channel] = field(default_factory=list)

    @property
    def bot_role(self) -> Role:
        return self.roles[1]


@dataclass(kw_only=True)
class User:
    """Somebody with an account: everything here is what the bot must never keep."""

    id: str
    username: str
    global_name: str
    nick: str
    role_ids: list[str] = field(default_factory=list)
    permissions: int = VIEW_CHANNEL | SEND_MESSAGES


@dataclass(kw_only=True)
class Message:
    """A stored message. `only_for` is the one user who sees it, where it is ephemeral."""

    id: str
    channel_id: str
    author_id: str
    body: Json
    files: dict[str, bytes]
    at: float
    nonce: str | None = None
    only_for: str | None = None
    deleted: bool = False
    edits: list[float] = field(default_factory=list)

    @property
    def buttons(self) -> list[Json]:
        """Every button and menu, row by row."""
        return [item for row in self.body.get("components", []) for item in row["components"]]

    @property
    def embed(self) -> Json:
        """The first embed, or an empty one."""
        embeds = self.body.get("embeds") or [{}]
        return embeds[0]

    def button(self, wanted: str) -> Json:
        """The button with this label or custom id."""
        for item in self.buttons:
            if wanted in (item.get("label"), item.get("custom_id")):
                return item
        shown = [item.get("label") or item.get("custom_id") for item in self.buttons]
        raise AssertionError(f"no button {wanted!r} among {shown}")


class World:
    """Everything that exists; changed by the routes and by tests."""

    def __init__(self, clock: Clock, token: str) -> None:
        self.clock = clock
        self.token = token
        self._count = itertools.count(1)
        self.application_id = self.new_id()
        self.bot_id = self.application_id
        self.guilds: dict[str, Guild] = {}
        self.channels: dict[str, Channel] = {}
        self.messages: dict[str, Message] = {}
        self.users: dict[str, User] = {}
        self.commands: list[Json] = []
        self.emojis: dict[str, Json] = {}
        self.left: list[str] = []

    def new_id(self) -> str:
        """A fresh snowflake: its upper bits are the time, as Discord's are."""
        milliseconds = int(self.clock.wall() * 1000) - _EPOCH_MS
        return str((milliseconds << 22) | (next(self._count) & 0x3FFFFF))

    def add_guild(self, name: str, permissions: int = FULL) -> Guild:
        """A server that the bot has joined with these permissions."""
        guild_id = self.new_id()
        everyone = Role(id=guild_id, name="@everyone")
        own = Role(id=self.new_id(), name="bot", permissions=permissions)
        guild = Guild(id=guild_id, name=name, roles=[everyone, own])
        self.guilds[guild_id] = guild
        return guild

    def add_channel(self, guild: Guild, name: str) -> Channel:
        """A text channel of a server."""
        channel = Channel(id=self.new_id(), guild_id=guild.id, name=name)
        guild.channels.append(channel)
        self.channels[channel.id] = channel
        return channel

    def add_role(self, guild: Guild, name: str) -> Role:
        """A role of a server."""
        role = Role(id=self.new_id(), name=name)
        guild.roles.append(role)
        return role

    def bot_permissions(self, channel: Channel) -> int:
        """What the bot may do in a channel: its role less the channel's overwrite."""
        return self.guilds[channel.guild_id].bot_role.permissions & ~channel.bot_denied

    def public_messages(self, channel_id: str) -> list[Message]:
        """What everybody in a channel sees, oldest first."""
        return [
            message
            for message in self.messages.values()
            if message.channel_id == channel_id and not message.deleted and not message.only_for
        ]

    def visible_to(self, user_id: str, channel_id: str) -> list[Message]:
        """What one user sees in a channel, ephemeral answers to that user included."""
        return [
            message
            for message in self.messages.values()
            if message.channel_id == channel_id
            and not message.deleted
            and message.only_for in (None, user_id)
        ]

    def sent_with(self, nonce: str) -> Message | None:
        """The bot's message with this nonce inside the window, in whatever channel."""
        since = self.clock.now() - NONCE_WINDOW_S
        for message in self.messages.values():
            if message.nonce == nonce and message.at >= since:
                return message
        return None
