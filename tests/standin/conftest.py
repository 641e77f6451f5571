"""The stand-in, and a bare HTTP client to try its rules without a library in between."""

from __future__ import annotations

import io
import json
from collections.abc import AsyncIterator
from dataclasses import dataclass
from typing import Any

import aiohttp
import pytest

from tests.standin.server import TOKEN, Discord
from tests.standin.world import Channel, Guild


@dataclass(kw_only=True)
class Reply:
    """An answer as it came over the wire."""

    status: int
    body: Any
    headers: Any


class Api:
    """Requests with the bot's token, and nothing that retries or waits."""

    def __init__(self, session: aiohttp.ClientSession, url: str) -> None:
        self._session, self._url = session, url

    async def __call__(
        self,
        method: str,
        path: str,
        body: Any = None,
        *,
        files: dict[str, bytes] | None = None,
        token: str = TOKEN,
    ) -> Reply:
        kwargs: dict[str, Any] = {"json": body}
        if files is not None:
            form = aiohttp.FormData(quote_fields=False)
            form.add_field("payload_json", json.dumps(body))
            for place, (name, data) in enumerate(files.items()):
                form.add_field(f"files[{place}]", io.BytesIO(data), filename=name)
            kwargs = {"data": form}
        headers = {"Authorization": f"Bot {token}"}
        async with self._session.request(
            method, self._url + path, headers=headers, **kwargs
        ) as answer:
            text = await answer.text()
            is_json = answer.content_type == "application/json"
            shown = json.loads(text) if is_json else text
            return Reply(status=answer.status, body=shown, headers=answer.headers)


@pytest.fixture
async def discord() -> AsyncIterator[Discord]:
    async with Discord() as standin:
        yield standin
        assert standin.own_violations == []


@pytest.fixture
async def api(discord: Discord) -> AsyncIterator[Api]:
    async with aiohttp.ClientSession() as session:
        yield Api(session, discord.url)


@pytest.fixture
def guild(discord: Discord) -> Guild:
    return discord.world.add_guild("a school")


@pytest.fixture
def channel(discord: Discord, guild: Guild) -> Channel:
    return discord.world.add_channel(guild, "reading")
