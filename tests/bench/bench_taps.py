"""300 taps a second for 20 seconds while the media worker renders: Discord, seats, a real database.

The singers and the stand-in have a process of their own, and so has the media worker.
"""

from __future__ import annotations

import asyncio
import json
import secrets
import sys
import tempfile
import time
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager, suppress
from dataclasses import replace
from datetime import timedelta
from fractions import Fraction
from pathlib import Path
from typing import Any

from bot.chat.discord.surface import DiscordOptions, DiscordSurface
from bot.media.request import EngravingRequest
from bot.media.worker import MediaWorker
from bot.music.exercise import Exercise, Note, Part, Tone
from bot.music.pitch import Key
from bot.music.rhythm import Metre
from bot.music.voice import Clef
from bot.privacy.approval import short_hash
from bot.store.approvals import add_draft
from bot.store.discord_links import DiscordLink, keep_link
from bot.store.seat_links import keep_account
from bot.store.seats import Seat, add_seat, keep_code
from tests.bench.tap_class import DAYS
from tests.fakes.cards import a_card
from tests.fakes.choirs import MONDAY, a_choir
from tests.fakes.clock import FakeClock
from tests.fakes.world import EIGHT, World, open_world
from tests.privacy.sheets import a_sheet, written
from tests.service.seated import keep_posted
from tests.standin.library import library_at
from tests.standin.server import TOKEN

RATE, SECONDS = 300, 20
_TODAY = MONDAY + timedelta(days=DAYS - 1)
_ROOT = Path(__file__).parents[2]


def run(rate: int = RATE, seconds: int = SECONDS) -> dict[str, float]:
    """How long an answer to a tap takes, and what of all taps was lost or counted twice."""
    with tempfile.TemporaryDirectory() as folder:
        told, counted, worked, pictures = asyncio.run(_measure(Path(folder), rate, seconds))
    waits, pressed = told["waits"], told["pressed"]
    if told["lost"] or counted != pressed:
        raise AssertionError(f"{pressed} taps, {told['lost']} lost, {counted} counted")
    return {
        f"{pressed} taps at {rate} a second, pressed within": told["sent_in"],
        "median answer": waits[len(waits) // 2],
        "99 of 100 answered within": waits[int(len(waits) * 0.99)],
        "slowest answer": waits[-1],
        "processor time of the program for a tap": worked / pressed,
        "processor time of the singers and the stand-in for a tap": told["cpu"] / pressed,
        "pictures made meanwhile, a second [1]": pictures,
    }


class _Readings:
    """Readings whose bytes are there at once: posting is not measured here."""

    async def media(self, *_: object) -> bytes:
        return b"bytes"


async def _measure(
    folder: Path, rate: int, seconds: int
) -> tuple[dict[str, Any], int, float, float]:
    clock = FakeClock(EIGHT + timedelta(days=DAYS - 1))
    async with (
        open_world(folder, clock) as world,
        MediaWorker() as worker,
        _singers() as (ask, there),
    ):
        await _set_up(world, there)
        with library_at(there["url"], there["gateway"]):
            services = replace(world.services, readings=_Readings())
            surface = DiscordSurface(services, world.assembly.changes, DiscordOptions(token=TOKEN))
            line = asyncio.create_task(surface.run())
            await surface.until_connected()
            for number in range(DAYS):
                on = MONDAY + timedelta(days=number)
                cards = [a_card(f"choir-{n}", on) for n in range(len(there["channels"]))]
                await asyncio.gather(*(surface.post(card, card.key) for card in cards))
            drawn: list[int] = []
            drawing = asyncio.create_task(_draw(worker, drawn))
            began, worked = time.perf_counter(), time.process_time()
            told = await ask(f"press {rate} {seconds}")
            worked = time.process_time() - worked
            pictures = len(drawn) / (time.perf_counter() - began)
            for task in (drawing, line):
                task.cancel()
                with suppress(asyncio.CancelledError):
                    await task
        async with world.database.snapshot() as read:
            row = await read.row("SELECT count(*) AS taps FROM taps")
        assert row is not None
        return told, row["taps"], worked, pictures


async def _draw(worker: MediaWorker, drawn: list[int]) -> None:
    """One picture after another, no two alike; their sizes."""
    while True:
        steps = [(len(drawn) // 8**place) % 8 for place in range(16)]
        notes = tuple(Note(duration=Fraction(1, 4), tone=Tone(step=step)) for step in steps)
        line = Exercise(key=Key.parse("F"), metre=Metre(), parts=(Part(notes=notes),))
        drawn.append(
            len(await worker.render(EngravingRequest(exercise=line, clefs=(Clef.TREBLE,))))
        )


@asynccontextmanager
async def _singers() -> AsyncIterator[tuple[Any, dict[str, Any]]]:
    """The process of the singers: a way to ask it, and what it said at first."""
    process = await asyncio.create_subprocess_exec(
        sys.executable, "-m", "tests.bench.tap_class", cwd=_ROOT, limit=2**24,
        stdin=asyncio.subprocess.PIPE, stdout=asyncio.subprocess.PIPE,
    )  # fmt: skip
    assert process.stdin is not None and process.stdout is not None

    async def ask(line: str) -> dict[str, Any]:
        process.stdin.write(f"{line}\n".encode())
        return json.loads(await process.stdout.readline())

    try:
        yield ask, json.loads(await process.stdout.readline())
    finally:
        process.kill()
        await process.wait()


async def _set_up(world: World, there: dict[str, Any]) -> None:
    """Choirs, each linked with a channel; one sheet for all; a seat for each singer's account."""
    guild, channels = there["guild"], there["channels"]
    ids = [f"choir-{number}" for number in range(len(channels))]
    terms = {
        "guild_id": guild,
        "channel_ids": channels,
        "least_age_attested": 13,
        "attested_on": "2026-08-30",
        "privacy_policy_url": "https://school.example/privacy",
    }
    data = written(a_sheet(*ids, discord=terms))
    for choir_id in ids:
        await world.services.choirs.add(a_choir(choir_id))
    async with world.database.transaction() as change:
        await add_draft(change, "sheet-1", data)
    approvals, links = world.services.seating.approvals, world.services.seating.links
    await approvals.confirm("sheet-1", short_hash(data))
    sheet = await approvals.current(ids[0], _TODAY)
    assert sheet is not None
    for choir_id, channel_id, people in zip(ids, channels, there["people"], strict=True):
        tags = [await links.tag(guild, person) for person in people]
        async with world.database.transaction(sheet.fields) as change:
            link = DiscordLink(
                choir_id=choir_id,
                guild_id=guild,
                channel_id=channel_id,
                director_role_id="1",
                linked_on=MONDAY,
            )
            await keep_link(change, link)
            for number in range(DAYS):
                on = MONDAY + timedelta(days=number)
                await keep_posted(change, choir_id, on, f"{choir_id}-{on:%m%d}")
            for number, tag in enumerate(tags, start=1):
                seat = Seat(
                    id=secrets.token_hex(16), choir_id=choir_id, number=number, made_on=MONDAY
                )
                await add_seat(change, seat)
                await keep_code(change, seat.id, secrets.token_bytes(32))
                await keep_account(change, seat, tag)
