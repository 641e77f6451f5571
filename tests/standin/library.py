"""Pointing an unmodified discord.py at the stand-in: it holds two addresses as constants."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Iterator
from contextlib import contextmanager

import yarl
from discord.gateway import DiscordWebSocket
from discord.http import Route


@contextmanager
def library_at(url: str, gateway: str) -> Iterator[None]:
    """Inside this block discord.py talks to these addresses instead of Discord's."""
    before = Route.BASE, DiscordWebSocket.DEFAULT_GATEWAY
    Route.BASE, DiscordWebSocket.DEFAULT_GATEWAY = url, yarl.URL(gateway)
    try:
        yield
    finally:
        Route.BASE, DiscordWebSocket.DEFAULT_GATEWAY = before


async def until(condition: Callable[[], object], seconds: float = 10.0) -> None:
    """Wait until something has happened that nobody announces."""
    async with asyncio.timeout(seconds):
        while not condition():  # noqa: ASYNC110 - the other side knows no event of ours
            await asyncio.sleep(0.01)
