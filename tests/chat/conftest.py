"""A room that really listens, over services in memory, and visitors who knock at it."""

from __future__ import annotations

from collections.abc import AsyncIterator, Callable
from pathlib import Path
from typing import Any

import aiohttp
import pytest

from bot.chat.room.server import Room, RoomOptions
from bot.service.content import load_content
from bot.service.services import Services
from tests.chat import house

_CONTENT = Path(__file__).parents[2] / "content"


class Visitor:
    """A browser without a screen: cookies, and the Origin that a page of the room would send."""

    def __init__(self, session: aiohttp.ClientSession, url: str) -> None:
        self.session = session
        self.url = url.rstrip("/")

    async def get(self, path: str, **options: Any) -> aiohttp.ClientResponse:
        response = await self.session.get(self.url + path, allow_redirects=False, **options)
        await response.read()
        return response

    async def post(self, path: str, data: Any = None, **options: Any) -> aiohttp.ClientResponse:
        headers = {"Origin": self.url, **options.pop("headers", {})}
        response = await self.session.post(
            self.url + path, data=data or {}, headers=headers, allow_redirects=False, **options
        )
        await response.read()
        return response

    async def sign_in(self, passphrase: str = house.PASSPHRASE) -> aiohttp.ClientResponse:
        return await self.post("/desk/sign-in", {"passphrase": passphrase, "next": "/desk"})


@pytest.fixture(scope="session")
def content() -> Any:
    """The content that ships with the program."""
    return load_content([_CONTENT])


@pytest.fixture
def services(content: Any) -> Services:
    """One choir with five cards, the last of them today's; no passphrase."""
    choir = house.a_choir()
    found = house.services_of(content, choir)
    found.readings.up = house.a_week_of_cards(choir)
    return found


@pytest.fixture
async def open_room() -> AsyncIterator[Callable[..., Any]]:
    """Start rooms over services; every one is stopped at the end."""
    rooms: list[Room] = []

    async def open_one(services: Services, **options: Any) -> Room:
        room = Room(services, RoomOptions(port=0, **options))
        await room.start()
        rooms.append(room)
        return room

    yield open_one
    for room in rooms:
        await room.stop()


@pytest.fixture
async def room(open_room: Callable[..., Any], services: Services) -> Room:
    """A room on loopback."""
    return await open_room(services)


@pytest.fixture
async def visit() -> AsyncIterator[Callable[..., Visitor]]:
    """Visitors of a room, each with cookies of their own."""
    sessions: list[aiohttp.ClientSession] = []

    def visit_one(room: Room) -> Visitor:
        session = aiohttp.ClientSession(cookie_jar=aiohttp.CookieJar(unsafe=True))
        sessions.append(session)
        return Visitor(session, room.url)

    yield visit_one
    for session in sessions:
        await session.close()


@pytest.fixture
async def visitor(visit: Callable[..., Visitor], room: Room) -> Visitor:
    """One visitor of the room."""
    return visit(room)
