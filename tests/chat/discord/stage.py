"""A choir, its Discord channel and the surface between them, on the stand-in.

The links lie in a real database; readings and choirs are kept in memory.
"""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Sequence
from contextlib import asynccontextmanager, suppress
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

from bot.activities.calendar import local_day
from bot.activities.choir import Choir
from bot.chat.discord.surface import DiscordOptions, DiscordSurface
from bot.errors import Refused
from bot.privacy.approval import short_hash
from bot.service.card import Arrangement, Media, ReadingCard
from bot.service.changes import Changes
from bot.service.discord_links import DiscordLinks
from bot.service.seating import assemble_seating
from bot.service.seats import Slip
from bot.service.services import Services
from bot.store.approvals import add_draft, drop_sheet
from bot.store.choirs import add_choir
from bot.store.database import Database
from bot.store.discord_links import DiscordLink, keep_link
from bot.store.folder import open_database
from tests.chat.house import MemoryReadings, a_card, a_choir, services_of
from tests.privacy.sheets import a_sheet, written
from tests.service.seated import keep_posted
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


class StillClock(WallClock):
    """Stands at a moment; whoever sleeps does so in real seconds."""

    def __init__(self, now: datetime) -> None:
        self._now = now

    def now(self) -> datetime:
        return self._now


class NamedReadings(MemoryReadings):
    """Readings whose media are bytes that name what was asked for."""

    async def media(
        self, reading_id: str, arrangement: Arrangement, part: int, media: Media
    ) -> bytes:
        if self.broken is not None:
            raise self.broken
        if self.shut and media is Media.LINE_SOUND:
            raise Refused("stage.closed")
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
        made = DiscordSurface(self.services, self.changes, options)
        self.surfaces.append(made)
        return made

    async def link(
        self, choir: Choir | None = None, channel: Channel | None = None, *, signed: bool = True
    ) -> DiscordLink:
        """Link a choir with a channel, as after `/desk link`; `signed`: the school agrees."""
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
        if signed:
            await self.sign(choir, channel)
        return link

    async def sign(self, choir: Choir, channel: Channel, **changes: object) -> str:
        """A sheet that the school has signed for a choir in a channel, in place of the one before.

        Its span lies around today; `changes` are keys of the sheet. The sheet's id.
        """
        sheet_id = f"sheet-{choir.id}"
        await self.sign_all(sheet_id, [choir], [channel], **changes)
        return sheet_id

    async def sign_all(
        self, sheet_id: str, choirs: Sequence[Choir], channels: Sequence[Channel], **changes: object
    ) -> None:
        """The same for several choirs of one server."""
        today = local_day(self.services.clock.now(), choirs[0].zone)
        terms = {
            "guild_id": channels[0].guild_id,
            "channel_ids": [channel.id for channel in channels],
            "least_age_attested": 13,
            "attested_on": (today - timedelta(days=31)).isoformat(),
            "privacy_policy_url": "https://school.example/privacy",
        }
        ids = [choir.id for choir in choirs]
        keys = {**_span(today), "sheet_id": sheet_id, "discord": terms, **changes}
        data = written(a_sheet(*ids, **keys))
        async with self.database.transaction() as change:
            await drop_sheet(change, sheet_id)
            await add_draft(change, sheet_id, data)
        await self.services.seating.approvals.confirm(sheet_id, short_hash(data))

    async def end_sheet(self, choir: Choir | None = None) -> None:
        """The school's word is taken away."""
        await self.services.seating.approvals.take_away(f"sheet-{(choir or self.choir).id}")

    async def seats(self, count: int, choir: Choir | None = None) -> tuple[Slip, ...]:
        """Seats of the choir."""
        return await self.services.seating.seats.make((choir or self.choir).id, count)

    async def link_code(self, number: int, choir: Choir | None = None) -> str:
        """A code as the seat's own page shows it."""
        seats = await self.services.seating.seats.of_choir((choir or self.choir).id)
        seat = next(one for one in seats if one.number == number)
        return await self.services.seating.links.new_code(seat)

    @property
    def today(self) -> date:
        """The choir's date."""
        return local_day(self.services.clock.now(), self.choir.zone)

    async def offered(self, card: ReadingCard) -> None:
        """Let a card be the line of its day in the database too, so that it can be marked."""
        async with self.database.transaction() as change:
            await keep_posted(change, card.choir_id, card.on, card.reading_id)

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
    folder: Path,
    *,
    permissions: int = FULL,
    linked: bool = True,
    now: datetime | None = None,
    **standin: Any,
) -> AsyncIterator[Stage]:
    """Set everything up; the surface is not connected yet. `now` lets the clock stand."""
    async with Discord(**standin) as discord, open_database(folder, born="test") as database:
        guild = discord.world.add_guild("a school", permissions)
        choir = a_choir()
        services = services_of(_content(), now=NOW)
        readings = NamedReadings(services.choirs, services.clock)
        services = replace(
            services, readings=readings, clock=StillClock(now) if now else WallClock()
        )
        changes = Changes()
        links = DiscordLinks(database, services.clock, changes)
        seating = assemble_seating(database, services.clock, services.choirs, folder)
        services = replace(services, discord=links, seating=seating)
        stage = Stage(
            discord=discord,
            database=database,
            services=services,
            readings=readings,
            links=links,
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


def _span(today: date) -> dict[str, str]:
    days = {"families_told_on": -31, "approved_on": -31, "valid_from": -30}
    days |= {"term_ends_on": 90, "expires_on": 100}
    return {name: (today + timedelta(days=number)).isoformat() for name, number in days.items()}


def _content() -> Any:
    from types import SimpleNamespace

    from tests.chat.house import wording

    return SimpleNamespace(wording=wording(), sequences={})
