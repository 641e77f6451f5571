"""The door: an interaction comes in whole and goes on as the few things that are needed.

Names, nicks, pictures and ids of people stop here. Nothing behind the door sees the library's
interaction; what it gets is a `Call`.
"""

from __future__ import annotations

import hmac
import secrets
from collections import defaultdict, deque
from dataclasses import dataclass
from typing import Any

import discord

from bot.service.clock import Clock
from bot.store.discord_links import DiscordLink

_PER_MINUTE = 10
_SPAN_S = 60.0
_TAG_BYTES = 16


@dataclass(frozen=True, slots=True, kw_only=True)
class Call:
    """One command or press. `manages` is the right to manage the server.

    `link` says which choir the channel belongs to, None where it belongs to none.
    """

    guild_id: str
    channel_id: str
    role_ids: frozenset[str]
    manages: bool
    link: DiscordLink | None = None

    @property
    def directs(self) -> bool:
        """Whether the caller has the role of this choir's director."""
        return self.link is not None and self.link.director_role_id in self.role_ids


def call_of(interaction: discord.Interaction[Any], link: DiscordLink | None) -> Call | None:
    """The few things that are needed; None outside a server's channel."""
    member = interaction.user
    if interaction.guild_id is None or interaction.channel_id is None:
        return None
    if not isinstance(member, discord.Member):
        return None
    return Call(
        guild_id=str(interaction.guild_id),
        channel_id=str(interaction.channel_id),
        role_ids=frozenset(str(role.id) for role in member.roles),
        manages=interaction.permissions.manage_guild,
        link=link,
    )


class Throttle:
    """Ten calls a minute a person, counted in memory under a tag that ends with the process."""

    def __init__(self, clock: Clock) -> None:
        self._clock = clock
        self._key = secrets.token_bytes(32)
        self._calls: defaultdict[bytes, deque[float]] = defaultdict(deque)
        self._swept_at = 0.0

    def allows(self, interaction: discord.Interaction[Any]) -> bool:
        """Count this call; whether it may go on."""
        now = self._clock.now().timestamp()
        self._sweep(now)
        calls = self._calls[self._tag(interaction.user.id)]
        while calls and not _recent(calls[0], now):
            calls.popleft()
        if len(calls) >= _PER_MINUTE:
            return False
        calls.append(now)
        return True

    def _tag(self, user_id: int) -> bytes:
        return hmac.digest(self._key, str(user_id).encode(), "sha256")[:_TAG_BYTES]

    def _sweep(self, now: float) -> None:
        """Once a minute, forget everybody who was quiet for a minute."""
        if _recent(self._swept_at, now):
            return
        self._swept_at = now
        quiet = [tag for tag, calls in self._calls.items() if not _recent(calls[-1], now)]
        for tag in quiet:
            del self._calls[tag]


def _recent(moment: float, now: float) -> bool:
    return 0 <= now - moment < _SPAN_S
