"""Many choirs due at the same minute: no faster than Discord allows, and every line once."""

from __future__ import annotations

import asyncio

import pytest

from bot.chat.discord.pace import Pace
from bot.store.choirs import add_choir
from bot.store.discord_links import DiscordLink, keep_link
from tests.chat.discord.stage import ON, a_stage
from tests.chat.house import a_choir
from tests.standin.limits import GLOBAL_PER_SECOND

CHOIRS = 200
A_SHEET = 32  # channels that one sheet can name


async def linked_choirs(stage, count):
    """Further choirs, each linked with a channel of its own and signed for, and their cards."""
    choirs = [a_choir(f"b{number}", f"Choir {number}") for number in range(count)]
    channels = [
        stage.discord.world.add_channel(stage.guild, f"reading-{number}") for number in range(count)
    ]
    async with stage.database.transaction() as change:
        for choir, channel in zip(choirs, channels, strict=True):
            await add_choir(change, choir, ON)
            link = DiscordLink(
                choir_id=choir.id,
                guild_id=channel.guild_id,
                channel_id=channel.id,
                director_role_id=stage.director_role.id,
                linked_on=ON,
            )
            await keep_link(change, link)
    for first in range(0, count, A_SHEET):
        some = slice(first, first + A_SHEET)
        await stage.sign_all(f"sheet-{first}", choirs[some], channels[some])
    return [stage.card(choir=choir) for choir in choirs]


@pytest.mark.long
async def test_two_hundred_choirs_at_once_draw_no_refusal(tmp_path):
    async with a_stage(tmp_path) as stage:
        cards = await linked_choirs(stage, CHOIRS)
        async with stage.connected() as surface:
            ids = await asyncio.gather(*(surface.post(card, card.key) for card in cards))

        assert len(set(ids)) == CHOIRS
        assert len(stage.discord.world.messages) == CHOIRS
        assert stage.discord.limits.drawn == {}
        assert stage.discord.limits.busiest_second <= GLOBAL_PER_SECOND


async def test_no_second_holds_more_than_rate_and_burst():
    pace, loop = Pace(rate_per_s=100, burst=5), asyncio.get_running_loop()
    taken = []

    async def one():
        await pace.take()
        taken.append(loop.time())

    await asyncio.gather(*(one() for _ in range(60)))

    windows = [sum(1 for at in taken if start <= at < start + 0.2) for start in taken]
    assert max(windows) <= 0.2 * 100 + 5 + 1
    assert 0.5 <= taken[-1] - taken[0] < 2.0


@pytest.mark.parametrize("idle_s", [0.0, 0.3])
async def test_tokens_do_not_pile_up_while_nothing_is_sent(idle_s):
    pace, loop = Pace(rate_per_s=50, burst=2), asyncio.get_running_loop()
    await pace.take()
    await asyncio.sleep(idle_s)
    started = loop.time()

    for _ in range(6):
        await pace.take()

    assert loop.time() - started >= 0.07
