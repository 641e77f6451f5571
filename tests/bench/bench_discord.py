"""A thousand choirs due at the same minute, through the whole service to the stand-in."""

from __future__ import annotations

import asyncio
import tempfile
import time
from contextlib import suppress
from pathlib import Path

from bot.chat.discord.surface import DiscordOptions, DiscordSurface
from bot.store.discord_links import DiscordLink, keep_link
from tests.fakes.choirs import MONDAY, a_choir
from tests.fakes.clock import FakeClock
from tests.fakes.renderer import InstantRenderer
from tests.fakes.world import EIGHT, World, open_world
from tests.service.seated import sign
from tests.standin.library import library_at
from tests.standin.limits import GLOBAL_PER_SECOND
from tests.standin.server import TOKEN, Discord

CHOIRS = 1000
_LATENCY_S = 0.15  # from a request to its answer, as over a continent
_MEDIA_BYTES = 40_000
_A_SHEET = 32  # channels that one sheet of a school can name


def run(choirs: int = CHOIRS) -> dict[str, float]:
    """Seconds until every line is up, beside what 50 requests a second allow."""
    with tempfile.TemporaryDirectory() as folder:
        took, drawn, busiest = asyncio.run(_measure(Path(folder), choirs))
    if drawn:
        raise AssertionError(f"refusals were drawn: {drawn}")
    return {
        f"{choirs} requests at {GLOBAL_PER_SECOND} a second": choirs / GLOBAL_PER_SECOND,
        f"{choirs} choirs due at the same minute, every line up": took,
        "busiest second, of the 50 that are allowed [x]": busiest / GLOBAL_PER_SECOND,
    }


class _Media(InstantRenderer):
    """Bytes as large as a picture or sound."""

    async def get_or_make(self, request: object) -> bytes:
        return await super().get_or_make(request) + bytes(_MEDIA_BYTES)


async def _measure(folder: Path, choirs: int) -> tuple[float, dict[str, int], int]:
    clock = FakeClock(EIGHT)
    async with (
        Discord(check=False, keep_files=False) as discord,
        open_world(folder, clock) as world,
    ):
        discord.latency_s = _LATENCY_S
        await _link(world, discord, choirs)
        with library_at(discord.url, discord.gateway.address):
            surface = DiscordSurface(
                world.services, world.assembly.changes, DiscordOptions(token=TOKEN)
            )
            world.assembly.outlets.connect(surface)
            line = asyncio.create_task(surface.run())
            await surface.until_connected()
            await asyncio.sleep(1.0)  # the requests of the start are over
            started = time.perf_counter()
            await world.assembly.scheduler.round()
            took = time.perf_counter() - started
            line.cancel()
            with suppress(asyncio.CancelledError):
                await line
        up = [message.channel_id for message in discord.world.messages.values()]
        if len(up) != choirs or len(set(up)) != choirs:
            raise AssertionError(f"{len(up)} messages in {len(set(up))} of {choirs} channels")
        return took, dict(discord.limits.drawn), discord.limits.busiest_second


async def _link(world: World, discord: Discord, choirs: int) -> None:
    """Choirs with their lines composed, each linked with a channel of its own and signed for."""
    world.services.readings._media = _Media()
    guild = discord.world.add_guild("a district")
    for number in range(choirs):
        choir = a_choir(f"choir-{number}")
        channel = discord.world.add_channel(guild, f"reading-{number}")
        await world.services.choirs.add(choir)
        await world.services.readings.preview(choir.id, MONDAY)
        async with world.database.transaction() as change:
            link = DiscordLink(
                choir_id=choir.id,
                guild_id=guild.id,
                channel_id=channel.id,
                director_role_id=guild.bot_role.id,
                linked_on=MONDAY,
            )
            await keep_link(change, link)
    for first in range(0, choirs, _A_SHEET):
        numbers = range(first, min(first + _A_SHEET, choirs))
        terms = {
            "guild_id": guild.id,
            "channel_ids": [guild.channels[number].id for number in numbers],
            "least_age_attested": 13,
            "attested_on": "2026-08-30",
            "privacy_policy_url": "https://school.example/privacy",
        }
        ids = [f"choir-{number}" for number in numbers]
        await sign(world, *ids, sheet_id=f"sheet-{first}", discord=terms)
