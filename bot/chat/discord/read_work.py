"""What everybody's commands and presses do. Nothing about who asked is kept."""

from __future__ import annotations

from bot.chat.discord.door import Call
from bot.chat.discord.opening import opening_for
from bot.chat.discord.sheet import Press, Sheet, hear_in, part_in
from bot.chat.discord.sheets import Sheets
from bot.errors import Refused
from bot.service.card import Arrangement, ReadingCard
from bot.service.discord_gate import Opening
from bot.service.match_score import score_line, score_title
from bot.service.services import Services

_LISTED = 20  # matches of a term that are told one by one


class ReadWork:
    """The line, a part of it, its key; and what the bot is."""

    def __init__(self, services: Services, sheets: Sheets) -> None:
        self._services = services
        self._sheets = sheets
        self._say = services.content.wording

    async def about(self, call: Call) -> Sheet:
        """For whom the bot is, what it is, and what it keeps."""
        paragraphs = (
            self._say("discord.age_limit"),
            self._say("discord.about"),
            self._say("discord.privacy_owed"),
            self._say("discord.keeps"),
        )
        return Sheet(title=self._say("program.name"), line="\n\n".join(paragraphs))

    async def today(self, call: Call) -> Sheet:
        """The line that is up."""
        card, opening = await self._newest(call), await self._open(call)
        return await self._sheets.for_class(card, taps=opening.counts_taps)

    async def part(self, call: Call, wanted: str) -> Sheet:
        """One part by its label or number."""
        card, index = await self.newest_part(call, wanted)
        return await self._sheets.for_part(card, index, Arrangement.TOGETHER)

    async def newest_part(self, call: Call, wanted: str | None) -> tuple[ReadingCard, int]:
        """The line that is up, and a part of it by label or number; the first for None.

        Refused("discord.no_part") names those that there are.
        """
        card = await self._newest(call)
        if wanted is None:
            return card, 0
        labels = [part.label.casefold() for part in card.parts]
        text = wanted.strip().casefold()
        if text in labels:
            return card, labels.index(text)
        if text.isdecimal() and 1 <= int(text) <= len(labels):
            return card, int(text) - 1
        known = ", ".join(part.label for part in card.parts)
        raise Refused("discord.no_part", parts=known)

    async def key(self, call: Call) -> Sheet:
        """The key and the starting notes of the line that is up."""
        return await self._sheets.for_key(await self._newest(call))

    async def score(self, call: Call) -> Sheet:
        """How today's match of the choir stands; Refused("match.none_today") without one."""
        opening = await self._open(call)
        score = await self._services.matches.score_today(opening.link.choir_id)
        if score is None:
            raise Refused("match.none_today")
        return Sheet(title=score_title(score, self._say), line=score_line(score, self._say))

    async def term(self, call: Call, press: Press) -> Sheet:
        """The matches of the term and what they add up to, for the whole choir."""
        opening = await self._open(call)
        term = await self._services.matches.term(opening.link.choir_id)
        days = [
            self._say("match.card.day", day=self._say.date(score.on, "MMM d"), score=line)
            for score in term[:_LISTED]
            for line in (score_line(score, self._say),)
        ]
        points = sum(score.left + score.right for score in term)
        total = self._say("match.term.total", count=len(term), points=points)
        return Sheet(title=self._say("match.term.title"), line="\n".join([*days, "", total]))

    async def pressed(self, call: Call, press: Press) -> Sheet:
        """One part of the reading whose button was pressed."""
        reading_id, part, arrangement = part_in(press)
        card = await self._here(call, reading_id)
        return await self._sheets.for_part(card, part, arrangement)

    async def heard(self, call: Call, press: Press) -> Sheet:
        """The line itself; the button for it comes with the answer to a first try."""
        return await self._sheets.for_hearing(await self._here(call, hear_in(press)))

    async def parts(self, call: Call) -> list[str]:
        """The labels of the parts, to be offered while one is typed."""
        return [part.label for part in (await self._newest(call)).parts]

    async def _here(self, call: Call, reading_id: str) -> ReadingCard:
        """A card of this very channel, which may have been another choir's."""
        elsewhere = "discord.other_channel"
        opening = await opening_for(call, self._services, unlinked=elsewhere)
        card = await self._services.readings.card(reading_id)
        if opening.link.choir_id != card.choir_id:
            raise Refused(elsewhere)
        return card

    async def _newest(self, call: Call) -> ReadingCard:
        opening = await self._open(call)
        cards = await self._services.readings.board(opening.link.choir_id, limit=1)
        if not cards:
            raise Refused("discord.nothing_up")
        return cards[-1]

    async def _open(self, call: Call) -> Opening:
        return await opening_for(call, self._services)
