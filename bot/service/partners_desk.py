"""Partner lines for a choir: composed in the background, looked at, put on a day."""

from __future__ import annotations

import asyncio
import secrets
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

import msgspec

from bot.activities.calendar import local_day
from bot.activities.choir import Choir
from bot.activities.reading import Reading
from bot.errors import Refused
from bot.music.in_reach import in_reach
from bot.music.level import Level
from bot.music.partner_set import FEWEST, MOST, PartnerSet, partner_set
from bot.music.pitch import Key
from bot.music.placement import in_mode_of
from bot.music.step import Sequence as Steps
from bot.music.step import level_of
from bot.service.card import Arrangement, Media
from bot.service.choirs import Choirs
from bot.service.clock import Clock
from bot.service.composing import Composing
from bot.service.content import Content
from bot.service.makings import Made, Said
from bot.service.media_requests import MediaSource, media_request
from bot.service.partner_reading import partner_reading
from bot.store.database import Database
from bot.store.makings import drop_wish
from bot.store.partner_sets import KeptPartners, keep_partners, partners_of
from bot.store.readings import history
from bot.wording import Wording


@dataclass(frozen=True, slots=True, kw_only=True)
class PartnersWish:
    """How many lines, at which steps of pitch and rhythm, how long (None: as it comes)."""

    lines: int
    pitch: str
    rhythm: str
    measures: int | None
    seed: int


def wish_json(wish: PartnersWish) -> str:
    """A wish as text."""
    return msgspec.json.encode(wish).decode()


@dataclass(frozen=True, slots=True, kw_only=True)
class PartnersDesk:
    """What the desk asks for; a choir keeps the set that it composed last."""

    database: Database
    choirs: Choirs
    composing: Composing
    content: Content
    media: MediaSource
    clock: Clock

    async def may_compose(self, choir_id: str, wish: PartnersWish) -> None:
        """Refused("partners.number"), or InputProblems for steps that are none."""
        self._level(await self.choirs.get(choir_id), wish)

    async def compose_wished(self, choir_id: str, text: str, said: Said) -> None:
        """Compose what was wished for and keep it, in a thread; NoExercise with the rule.

        The lines are at the highest pitch step, down from that of the wish, in reach of all voices.
        """
        wish, choir = msgspec.json.decode(text, type=PartnersWish), await self.choirs.get(choir_id)
        sequence, level = self._level(choir, wish)
        async with self.database.snapshot() as read:
            seen = await history(read, choir_id)

        def made(at: Level) -> PartnerSet:
            return partner_set(
                at,
                tuple(voice.range for voice in choir.voices),
                wish.lines,
                key=in_mode_of(at, None if choir.key is None else Key.parse(choir.key)),
                measures=wish.measures,
                seed=wish.seed,
                seen=tuple(seen.values()),
                told=said,
            )

        found, at = await asyncio.to_thread(in_reach, sequence, level, made)
        steps = replace(choir.steps, pitch=at.steps[0], rhythm=wish.rhythm)
        kept = KeptPartners(id=secrets.token_hex(8), steps=steps, found=found, asked=wish.pitch)
        async with self.database.transaction() as change:
            await drop_wish(change, choir_id, Made.PARTNERS.value)
            await keep_partners(change, choir_id, kept)

    async def latest(self, choir_id: str) -> KeptPartners | None:
        """The set that was composed last; None where there is none."""
        async with self.database.snapshot() as read:
            return await partners_of(read, choir_id)

    async def preview(
        self, choir_id: str, set_id: str, chosen: Sequence[int], media: Media
    ) -> bytes:
        """Picture or sound of one line or of several together, as the choir would have them.

        Refused as `use` says; RenderFailed.
        """
        choir = await self.choirs.get(choir_id)
        kept = await self._kept(choir_id, set_id)
        today = local_day(self.clock.now(), choir.zone)
        reading = partner_reading(kept, chosen, choir, self.content, today, 0)
        reading = _by_lines(reading, kept, chosen, self.content.wording)
        together = Arrangement.TOGETHER
        if media is Media.ALL_SOUND and len(chosen) == 1:
            media = Media.LINE_SOUND
        return await self.media.get_or_make(media_request(reading, choir, together, 0, media))

    async def use(self, choir_id: str, set_id: str, chosen: Sequence[int], on: date) -> None:
        """Put one line, or several together, on a day, and hold them to it.

        Refused("partners.changed") where another set was composed meanwhile,
        ("partners.unknown"), ("partners.voices"), ("reading.posted").
        """
        kept = await self._kept(choir_id, set_id)

        def make(choir: Choir, draw: int) -> Reading:
            return partner_reading(kept, chosen, choir, self.content, on, draw)

        await self.composing.use_made(choir_id, on, make)

    async def _kept(self, choir_id: str, set_id: str) -> KeptPartners:
        kept = await self.latest(choir_id)
        if kept is None or kept.id != set_id:
            raise Refused("partners.changed")
        return kept

    def _level(self, choir: Choir, wish: PartnersWish) -> tuple[Steps, Level]:
        if not FEWEST <= wish.lines <= MOST:
            raise Refused("partners.number", fewest=FEWEST, most=MOST)
        sequence = self.content.sequences.get(choir.steps.sequence)
        if sequence is None:
            raise Refused("reading.no_sequence", sequence=choir.steps.sequence)
        return sequence, level_of(sequence, (wish.pitch, wish.rhythm))


def _by_lines(reading: Reading, kept: KeptPartners, chosen: Sequence[int], say: Wording) -> Reading:
    """The reading with the lines' numbers for labels, as the desk speaks of them."""
    lines = chosen if len(chosen) == 1 else kept.found.stack(chosen).lines
    return replace(
        reading,
        parts=tuple(
            replace(part, label=say("partners.line", number=lines[part.line] + 1))
            for part in reading.parts
        ),
    )
