"""What everybody's commands and presses do. Nothing about who asked is kept."""

from __future__ import annotations

from bot.chat.discord.door import Call
from bot.chat.discord.sheet import PartChoice, Sheet, Sheets
from bot.errors import Refused
from bot.service.card import Arrangement, ReadingCard
from bot.service.services import Services


class ReadWork:
    """The line, a part of it, its key; and what the bot is."""

    def __init__(self, services: Services, sheets: Sheets) -> None:
        self._services = services
        self._sheets = sheets
        self._say = services.content.wording

    async def about(self, call: Call) -> Sheet:
        """What the bot is, for whom, and what it keeps."""
        paragraphs = (
            self._say("discord.about"),
            self._say("discord.age_limit"),
            self._say("discord.privacy_owed"),
            self._say("discord.keeps"),
        )
        return Sheet(title=self._say("program.name"), line="\n\n".join(paragraphs))

    async def today(self, call: Call) -> Sheet:
        """The line that is up."""
        return await self._sheets.for_class(await self._newest(call))

    async def part(self, call: Call, wanted: str) -> Sheet:
        """One part by its label or number."""
        card = await self._newest(call)
        labels = [part.label.casefold() for part in card.parts]
        text = wanted.strip().casefold()
        if text in labels:
            return await self._sheets.for_part(card, labels.index(text), Arrangement.TOGETHER)
        if text.isdecimal() and 1 <= int(text) <= len(labels):
            return await self._sheets.for_part(card, int(text) - 1, Arrangement.TOGETHER)
        known = ", ".join(part.label for part in card.parts)
        raise Refused("discord.no_part", parts=known)

    async def key(self, call: Call) -> Sheet:
        """The key and the starting notes of the line that is up."""
        return await self._sheets.for_key(await self._newest(call))

    async def pressed(self, call: Call, choice: PartChoice) -> Sheet:
        """One part of the reading whose button was pressed."""
        card = await self._services.readings.card(choice.reading_id)
        if call.link is None or call.link.choir_id != card.choir_id:
            raise Refused("discord.other_channel")
        return await self._sheets.for_part(card, choice.part, choice.arrangement)

    async def parts(self, call: Call) -> list[str]:
        """The labels of the parts, to be offered while one is typed."""
        return [part.label for part in (await self._newest(call)).parts]

    async def _newest(self, call: Call) -> ReadingCard:
        if call.link is None:
            raise Refused("discord.not_linked")
        cards = await self._services.readings.board(call.link.choir_id, limit=1)
        if not cards:
            raise Refused("discord.nothing_up")
        return cards[-1]
