"""Singers who press, in a process of their own with the stand-in: `-m tests.bench.tap_class`.

Prints one line of JSON: where the stand-in is, and who is there. For each line on its input it does
one thing and prints one line: `press RATE SECONDS` lets everybody press in turn.
"""

from __future__ import annotations

import asyncio
import json
import sys
import time
from contextlib import suppress
from typing import Any

from tests.standin.person import Person, Unanswered
from tests.standin.server import Discord
from tests.standin.world import Channel, Message

CHOIRS, SINGERS, DAYS = 30, 50, 4


async def main() -> None:
    """Set a district up, then do what is asked until the input ends."""
    async with Discord(check=False, keep_files=False) as discord:
        discord.limits.switched_on = False  # presses are measured here, not posting
        guild = discord.world.add_guild("a district")
        channels = [discord.world.add_channel(guild, f"reading-{n}") for n in range(CHOIRS)]
        people = [
            [Person(discord, guild, f"singer-{n}-{m}") for m in range(SINGERS)]
            for n in range(CHOIRS)
        ]
        _say(
            {
                "url": discord.url,
                "gateway": discord.gateway.address,
                "guild": guild.id,
                "channels": [channel.id for channel in channels],
                "people": [[int(one.user.id) for one in some] for some in people],
            }
        )
        while line := (await asyncio.to_thread(sys.stdin.readline)).split():
            taps = _taps(discord, channels, people)
            _say(await _press(taps, rate=int(line[1]), seconds=int(line[2])))


def _taps(
    discord: Discord, channels: list[Channel], people: list[list[Person]]
) -> list[tuple[Person, Message]]:
    """Each singer with each card of the channel, in an order in which nobody hurries."""
    cards = [discord.world.public_messages(channel.id) for channel in channels]
    assert all(len(some) == DAYS for some in cards), [len(some) for some in cards]
    return [
        (some[singer], cards[choir][day])
        for day in range(DAYS)
        for singer in range(SINGERS)
        for choir, some in enumerate(people)
    ]


async def _press(taps: list[tuple[Person, Message]], *, rate: int, seconds: int) -> dict[str, Any]:
    """Press `rate` times a second; how long each press waited for its answer, and what it was."""
    loop = asyncio.get_running_loop()
    waits: list[float] = []
    lost = 0

    async def one(person: Person, card: Message) -> None:
        nonlocal lost
        try:
            answer = await person.press(card, "I read it: steady")
        except Unanswered:
            lost += 1
            return
        with suppress(TimeoutError):
            await asyncio.wait_for(answer.complete.wait(), 30)
        shown = answer.original.embed["description"] if answer.original else ""
        lost += not shown.startswith("Marked.")
        assert answer.answered_after is not None
        waits.append(answer.answered_after)

    began, worked = loop.time(), time.process_time()
    running = []
    for number, tap in enumerate(taps[: rate * seconds]):
        await asyncio.sleep(max(0.0, began + number / rate - loop.time()))
        running.append(asyncio.create_task(one(*tap)))
    sent_in = loop.time() - began
    await asyncio.gather(*running)
    waits.sort()
    worked = time.process_time() - worked
    return {
        "pressed": len(running), "lost": lost, "sent_in": sent_in, "waits": waits, "cpu": worked,
    }  # fmt: skip


def _say(value: dict[str, Any]) -> None:
    print(json.dumps(value), flush=True)


if __name__ == "__main__":
    asyncio.run(main())
