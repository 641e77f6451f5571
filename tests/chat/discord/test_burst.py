"""Many choirs due at the same minute: no faster than Discord allows, and every line once."""

from __future__ import annotations

import asyncio

import pytest

from bot.chat.discord.pace import Pace
from tests.chat.discord.stage import a_stage
from tests.chat.house import a_choir
from tests.standin.limits import GLOBAL_PER_SECOND

CHOIRS = 200


async def linked_choirs(stage, count):
    """Further choirs, each linked with a channel of its own, and their cards."""
    cards = []
    for number in range(count):
        choir = a_choir(f"b{number}", f"Choir {number}")
        channel = stage.discord.world.add_channel(stage.guild, f"reading-{number}")
        await stage.add_choir(choir)
        await stage.link(choir, channel)
        cards.append(stage.card(choir=choir))
    return cards


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
