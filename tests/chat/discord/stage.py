"""A choir, its Discord channel and the surface between them, on the stand-in.

The links lie in a real database; readings and choirs are kept in memory.
"""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager, suppress
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

from bot.activities.calendar import local_day
from bot.activities.choir import Choir
from bot.chat.discord.surface import DiscordOptions, DiscordSurface
from bot.service.card import Arrangement, Media, ReadingCard
from bot.service.changes import Changes
from bot.service.discord_links import DiscordLinks
from bot.service.services import Services
from bot.store.choirs import add_choir
from bot.store.database import Database
from bot.store.discord_links import DiscordLink, keep_link
from bot.store.folder import open_database
from tests.chat.house import MemoryReadings, a_card, a_choir, services_of
from tests.standin.library import library_at
from tests.standin.person import Person
from tests.standin.server import TOKEN, Discord
from tests.standin.world import FULL, Channel, Guild, Role

NOW = datetime(2025, 11, 24, 15, 0, tzinfo=UTC)
ON = date(2025, 11, 24)


class WallClock:
    """The machine's clock."""

    def now(self) -> datetime:
        return datetime.now(UTC)

    async def sleep(self, seconds: float) -> None:
        await asyncio.sleep(seconds)


class NamedReadings(MemoryReadings):
    """Readings whose media are bytes that name what was asked for."""

    async def media(
        self, reading_id: str, arrangement: Arrangement, part: int, media: Media
    ) -> bytes:
        if self.broken is not None:
            raise self.broken
        self.asked.append(("media", reading_id, arrangement, part, media))
        return f"{reading_id} {arrangement} {part} {media}".encode()


@dataclass
class Stage:
    """Everything that a test moves: the stand-in, people, the service's side, the surface."""

    discord: Discord
    database: Database
    services: Services
    readings: NamedReadings
    links: DiscordLinks
    changes: Changes
    guild: Guild
    channel: Channel
    director_role: Role
    choir: Choir
    token: str = TOKEN
    surfaces: list[DiscordSurface] = field(default_factory=list)

    @asynccontextmanager
    async def connected(self) -> AsyncIterator[DiscordSurface]:
        """The surface with its line up; every use is another life of the program."""
        surface = self.surface()
        running = asyncio.create_task(surface.run())
        try:
            waiting = asyncio.create_task(surface.until_connected())
            done, _ = await asyncio.wait(
                {running, waiting}, timeout=10, return_when=asyncio.FIRST_COMPLETED
            )
            waiting.cancel()
            if running in done:
                running.result()
            assert done, "no line to Discord within ten seconds"
            yield surface
        finally:
            running.cancel()
            with suppress(asyncio.CancelledError):
                await running

    def surface(self) -> DiscordSurface:
        """A surface that is not connected yet."""
        options = DiscordOptions(token=self.token)
        made = DiscordSurface(self.services, self.links, self.changes, options)
        self.surfaces.append(made)
        return made

    async def link(self, choir: Choir | None = None, channel: Channel | None = None) -> DiscordLink:
        """Link a choir with a channel, as after `/desk link`."""
        channel, choir = channel or self.channel, choir or self.choir
        link = DiscordLink(
            choir_id=choir.id,
            guild_id=channel.guild_id,
            channel_id=channel.id,
            director_role_id=self.director_role.id,
            linked_on=ON,
        )
        async with self.database.transaction() as change:
            await keep_link(change, link)
        return link

    async def add_choir(self, choir: Choir) -> None:
        """Another choir, in the database and in memory."""
        async with self.database.transaction() as change:
            await add_choir(change, choir, local_day(NOW, choir.zone))
        await self.services.choirs.add(choir)

    def card(self, on: date = ON, choir: Choir | None = None, **changes: object) -> ReadingCard:
        """A card of the choir, known to the readings."""
        card = a_card(choir or self.choir, on, **changes)
        self.readings.up.append(card)
        return card

    def person(self, name: str, **kwargs: Any) -> Person:
        """Somebody in the choir's server."""
        return Person(self.discord, self.guild, name, **kwargs)

    def posted(self, channel: Channel | None = None) -> list[Any]:
        """What everybody sees in the channel."""
        return self.discord.world.public_messages((channel or self.channel).id)


@asynccontextmanager
async def a_stage(
    folder: Path, *, permissions: int = FULL, linked: bool = True, **standin: Any
) -> AsyncIterator[Stage]:
    """Set everything up; the surface is not connected yet."""
    async with Discord(**standin) as discord, open_database(folder, born="test") as database:
        guild = discord.world.add_guild("a school", permissions)
        choir = a_choir()
        services = services_of(_content(), now=NOW)
        readings = NamedReadings(services.choirs, services.clock)
        services = replace(services, readings=readings, clock=WallClock())
        changes = Changes()
        stage = Stage(
            discord=discord,
            database=database,
            services=services,
            readings=readings,
            links=DiscordLinks(database, services.clock, changes),
            changes=changes,
            guild=guild,
            channel=discord.world.add_channel(guild, "reading"),
            director_role=discord.world.add_role(guild, "directors"),
            choir=choir,
        )
        await stage.add_choir(choir)
        if linked:
            await stage.link()
        with library_at(discord.url, discord.gateway.address):
            yield stage
        violations = discord.violations + discord.own_violations
        assert not violations, "\n".join(violations)


def _content() -> Any:
    from types import SimpleNamespace

    from tests.chat.house import wording

    return SimpleNamespace(wording=wording(), sequences={})
