"""Rate limits: the bucket of a route, the limit over everything, and what does not count."""

from __future__ import annotations

import asyncio


async def test_the_sixth_message_in_five_seconds_is_refused_with_the_time_to_wait(
    discord, api, channel
):
    path = f"/channels/{channel.id}/messages"

    answers = [await api("POST", path, {"content": str(n)}) for n in range(6)]

    assert [one.status for one in answers] == [200] * 5 + [429]
    assert [one.headers["X-RateLimit-Remaining"] for one in answers[:5]] == list("43210")
    assert 0 < answers[5].body["retry_after"] <= 5
    assert answers[5].body["global"] is False
    assert len(discord.world.messages) == 5


async def test_a_bucket_belongs_to_one_channel_and_fills_again(discord, api, guild, channel):
    other = discord.world.add_channel(guild, "other")
    for n in range(5):
        await api("POST", f"/channels/{channel.id}/messages", {"content": str(n)})

    elsewhere = await api("POST", f"/channels/{other.id}/messages", {"content": "here"})
    discord.clock.skip(5.1)
    later = await api("POST", f"/channels/{channel.id}/messages", {"content": "again"})

    assert (elsewhere.status, later.status) == (200, 200)


async def test_the_fifty_first_request_of_a_second_draws_the_global_limit(discord, api, guild):
    places = [discord.world.add_channel(guild, f"c{n}") for n in range(51)]

    answers = await asyncio.gather(
        *(api("POST", f"/channels/{one.id}/messages", {"content": "up"}) for one in places)
    )

    refused = [one for one in answers if one.status == 429]
    assert len(refused) == 1
    assert refused[0].body["global"] is True
    assert discord.limits.busiest_second == 50


async def test_answers_to_interactions_do_not_count_globally(discord, api, guild):
    await asyncio.gather(
        *(api("POST", f"/interactions/1/token{n}/callback", {"type": 6}) for n in range(60))
    )

    assert discord.limits.drawn == {}
    assert discord.limits.busiest_second == 0
