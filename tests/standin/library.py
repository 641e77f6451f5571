"""Pointing an unmodified discord.py at the stand-in: it holds two addresses as constants."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any
from unittest.mock import patch

import discord
import yarl
from discord.gateway import DiscordWebSocket
from discord.http import Route
from discord.state import ConnectionState

_GUILDS_WITHIN_S = 0.05


@contextmanager
def library_at(url: str, gateway: str) -> Iterator[None]:
    """Inside this block discord.py talks to these addresses instead of Discord's.

    It also skips the seconds for which it would wait for further servers after the last one, and
    before it identifies anew: nothing else of it changes.
    """
    set_up = ConnectionState.__init__

    def hasty(self: Any, **options: Any) -> None:
        options.setdefault("guild_ready_timeout", _GUILDS_WITHIN_S)
        set_up(self, **options)

    async def no_wait(self: Any, shard_id: int | None, *, initial: bool = False) -> None:
        return None

    with (
        patch.object(Route, "BASE", url),
        patch.object(DiscordWebSocket, "DEFAULT_GATEWAY", yarl.URL(gateway)),
        patch.object(ConnectionState, "__init__", hasty),
        patch.object(discord.Client, "before_identify_hook", no_wait),
    ):
        yield


async def until(condition: Callable[[], object], seconds: float = 10.0) -> None:
    """Wait until something has happened that nobody announces."""
    async with asyncio.timeout(seconds):
        while not condition():  # noqa: ASYNC110 - the other side knows no event of ours
            await asyncio.sleep(0.01)
