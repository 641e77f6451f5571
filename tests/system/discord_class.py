"""A signed choir on the stand-in, and its singers, who press until they saw that it counts."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from datetime import date, datetime, time
from pathlib import Path
from zoneinfo import ZoneInfo

from bot.activities.calendar import local_day
from bot.privacy.approval import short_hash
from bot.service.changes import Changes
from bot.service.choirs import Choirs
from bot.service.seating import assemble_seating
from bot.service.troubles import Troubles
from bot.store.approvals import add_draft
from bot.store.choirs import add_choir
from bot.store.discord_links import DiscordLink, keep_link
from bot.store.folder import open_database
from tests.fakes.choirs import MONDAY, NEW_YORK, a_choir
from tests.fakes.clock import FakeClock
from tests.fakes.world import content
from tests.privacy.sheets import a_sheet, written
from tests.standin.library import until
from tests.standin.person import Person
from tests.standin.server import Discord
from tests.standin.world import FULL, Channel, Guild, Message

CHOIR = a_choir()
SINGERS = 3


class Class:
    """The choir's singers on Discord. `acknowledged` are those who saw that their tap counts."""

    def __init__(self, discord: Discord, guild: Guild, channel: Channel) -> None:
        self._discord = discord
        self.channel = channel
        self.singers = [Person(discord, guild, f"singer-{n}") for n in range(SINGERS)]
        self.acknowledged: dict[date, set[str]] = {}

    async def read(self, on: date, card: Message, *, until_dead: Callable[[], bool]) -> None:
        """Everybody who has not seen it yet presses, one after another, until all have."""
        seen = self.acknowledged.setdefault(on, set())
        for singer in self.singers:
            while singer.user.id not in seen and not until_dead():
                await _press(singer, card, until_dead)
                self._look(seen)

    def _look(self, seen: set[str]) -> None:
        """What stands on the singers' screens, whether or not the program heard that it does."""
        for answer in self._discord.interactions.by_token.values():
            shown = answer.original and answer.original.embed["description"]
            if shown and shown.startswith("Marked."):
                seen.add(answer.user.id)
        self._discord.interactions.by_token.clear()


async def _press(singer: Person, card: Message, until_dead: Callable[[], bool]) -> None:
    """Press and wait for what comes, which is nothing where the program dies."""
    press = asyncio.create_task(singer.press(card, "I read it: steady"))
    await until(lambda: press.done() or until_dead(), 30)
    press.cancel()
    await asyncio.gather(press, return_exceptions=True)


async def set_up(folder: Path, discord: Discord, permissions: int = FULL) -> Class:
    """A choir with a signed sheet, linked with a channel; its singers' accounts at their seats."""
    guild = discord.world.add_guild("a school", permissions)
    channel = discord.world.add_channel(guild, "reading")
    singers = Class(discord, guild, channel)
    clock = FakeClock(due(MONDAY))
    async with open_database(folder, born="test") as database:
        async with database.transaction() as change:
            await add_choir(change, CHOIR, local_day(due(MONDAY), CHOIR.zone))
            link = DiscordLink(
                choir_id=CHOIR.id,
                guild_id=guild.id,
                channel_id=channel.id,
                director_role_id=guild.bot_role.id,
                linked_on=MONDAY,
            )
            await keep_link(change, link)
            await add_draft(change, "sheet-1", _sheet(guild, channel))
        choirs = Choirs(database, clock, Changes(), content().wording, Troubles())
        seating = assemble_seating(database, clock, choirs, folder)
        await seating.approvals.confirm("sheet-1", short_hash(_sheet(guild, channel)))
        await seating.seats.make(CHOIR.id, SINGERS)
        seats = await seating.seats.of_choir(CHOIR.id)
        for seat, singer in zip(seats, singers.singers, strict=True):
            tag = await seating.links.tag(guild.id, int(singer.user.id))
            await seating.links.take(CHOIR.id, tag, await seating.links.new_code(seat))
    return singers


def _sheet(guild: Guild, channel: Channel) -> bytes:
    terms = {
        "guild_id": guild.id,
        "channel_ids": [channel.id],
        "least_age_attested": 13,
        "attested_on": "2026-08-30",
        "privacy_policy_url": "https://school.example/privacy",
    }
    days = {"term_ends_on": "2027-08-31", "expires_on": "2027-08-31"}
    return written(a_sheet(CHOIR.id, discord=terms, **days))


def due(on: date) -> datetime:
    return datetime.combine(on, time(8, 0, 1), ZoneInfo(NEW_YORK))
