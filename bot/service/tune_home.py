"""The mystery tune of a week as a sheet to take home; its answer too, once the class was told."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from bot.activities.choir import Hearing
from bot.service.composing import Composing
from bot.service.media_requests import MediaSource
from bot.service.mystery import Mysteries
from bot.service.takehome import HomeSheet, home_sheet
from bot.service.tune_book import told_of
from bot.wording import Wording


@dataclass(frozen=True, slots=True, kw_only=True)
class HomeTune:
    """A tune to be heard inwardly and named: its sheet, the names, and what the answer tells.

    Before the class was told there is no `title` in it, nor anything else that gives it away.
    """

    sheet: HomeSheet
    names: tuple[str, ...]
    title: str | None
    told: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class TunesAtHome:
    """Makes the sheet from what was put before the choir."""

    mysteries: Mysteries
    composing: Composing
    media: MediaSource
    say: Wording

    async def tune(self, choir_id: str, first: date, last: date) -> HomeTune | None:
        """The latest tune, where it was put before the choir between these days; RenderFailed.

        It can be heard on the sheet only once it was told to the class.
        """
        found = await self.mysteries.latest(choir_id)
        if found is None or not first <= found.on <= last:
            return None
        reading = await self.composing.find(found.card.reading_id)
        hear = found.told is not None and found.choir.hearing is not Hearing.NEVER
        return HomeTune(
            sheet=await home_sheet(
                reading, found.choir, self.media, self.say, hear=hear, alone=False
            ),
            names=found.names,
            title=None if found.told is None else found.told.title,
            told=() if found.told is None else told_of(found.told, self.say),
        )
