"""Each fault on demand does what its name says, once, and then the route works again."""

from __future__ import annotations

import time

import aiohttp
import pytest

from tests.standin.faults import Fault, Kind


async def _post(api, channel):
    return await api("POST", f"/channels/{channel.id}/messages", {"content": "up"})


@pytest.mark.parametrize(
    ("kind", "status", "stored"),
    [
        (Kind.LIMITED, 429, 0),
        (Kind.LIMITED_EVERYWHERE, 429, 0),
        (Kind.BANNED, 429, 0),
        (Kind.ERROR_BEFORE, 503, 0),
        (Kind.ERROR_AFTER, 503, 1),
    ],
)
async def test_a_fault_answers_with_its_status_and_stores_or_not(
    discord, api, channel, kind, status, stored
):
    discord.faults.add(Fault(kind=kind, value=503))

    broken = await _post(api, channel)

    assert broken.status == status
    assert len(discord.world.messages) == stored
    assert ("Via" in broken.headers) == (kind is not Kind.BANNED)
    assert (await _post(api, channel)).status == 200


@pytest.mark.parametrize(("kind", "stored"), [(Kind.RESET_BEFORE, 0), (Kind.RESET_AFTER, 1)])
async def test_a_reset_cuts_the_connection_before_or_after_storing(
    discord, api, channel, kind, stored
):
    discord.faults.add(Fault(kind=kind))

    with pytest.raises((aiohttp.ClientOSError, aiohttp.ServerDisconnectedError)):
        await _post(api, channel)

    assert len(discord.world.messages) == stored
    assert (await _post(api, channel)).status == 200


@pytest.mark.parametrize("kind", [Kind.SLOW_BEFORE, Kind.SLOW_AFTER])
async def test_a_slow_answer_comes_after_its_time(discord, api, channel, kind):
    discord.faults.add(Fault(kind=kind, value=0.2))
    started = time.monotonic()

    answer = await _post(api, channel)

    assert answer.status == 200
    assert time.monotonic() - started >= 0.2


async def test_a_fault_waits_for_its_own_route_and_counts_its_times(discord, api, channel):
    discord.faults.add(Fault(kind=Kind.ERROR_BEFORE, times=2, value=500))

    await api("GET", f"/channels/{channel.id}")
    answers = [await _post(api, channel) for _ in range(3)]

    assert [one.status for one in answers] == [500, 500, 200]
    assert discord.faults.left == []
