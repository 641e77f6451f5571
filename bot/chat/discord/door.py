"""The door: an interaction comes in whole and goes on as the few things that are needed.

Names, nicks, pictures and ids of people stop here. Nothing behind the door sees the library's
interaction; what it gets is a `Call`, in which a keyed tag stands for whoever called.
"""

from __future__ import annotations

from collections import defaultdict, deque
from collections.abc import Awaitable, Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

import discord

from bot.service.clock import Clock
from bot.store.discord_links import DiscordLink

_PER_MINUTE = 10
_SPAN_S = 60.0

Tagger = Callable[[str, int], Awaitable[bytes]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Call:
    """One command or press. `manages` is the right to manage the server.

    `link` says which choir the channel belongs to, None where it belongs to none. `tag` stands for
    the person in this server; without the key it is nobody's.
    """

    guild_id: str
    channel_id: str
    role_ids: frozenset[str]
    manages: bool
    tag: bytes = field(repr=False)
    link: DiscordLink | None = None

    @property
    def directs(self) -> bool:
        """Whether the caller has the role of this choir's director."""
        return self.link is not None and self.link.director_role_id in self.role_ids


async def call_of(
    interaction: discord.Interaction[Any], link: DiscordLink | None, tag: Tagger
) -> Call | None:
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
        tag=await tag(str(interaction.guild_id), member.id),
        link=link,
    )


def form_of(interaction: discord.Interaction[Any]) -> tuple[str, Mapping[str, str]] | None:
    """The id of a form that was sent in, and its texts by field; None where none was."""
    if interaction.type is not discord.InteractionType.modal_submit:
        return None
    data: Mapping[str, Any] = interaction.data or {}
    texts = {}
    for row in data.get("components", ()):
        # A row holds its fields in a list, a label holds one.
        for one in row.get("components", [row.get("component", {})]):
            if isinstance(one.get("value"), str):
                texts[str(one.get("custom_id"))] = one["value"]
    return str(data.get("custom_id")), texts


class Throttle:
    """Ten calls a minute a person, counted in memory by the person's tag."""

    def __init__(self, clock: Clock) -> None:
        self._clock = clock
        self._calls: defaultdict[bytes, deque[float]] = defaultdict(deque)
        self._swept_at = 0.0

    def allows(self, call: Call) -> bool:
        """Count this call; whether it may go on."""
        now = self._clock.now().timestamp()
        self._sweep(now)
        calls = self._calls[call.tag]
        while calls and not _recent(calls[0], now):
            calls.popleft()
        if len(calls) >= _PER_MINUTE:
            return False
        calls.append(now)
        return True

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
