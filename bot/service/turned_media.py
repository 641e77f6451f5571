"""Pictures and sounds of a reading read another way, for the board and for paper at home."""

from __future__ import annotations

from dataclasses import dataclass, replace

from bot.activities.choir import Choir
from bot.activities.reading import Reading
from bot.activities.way import Way
from bot.errors import Refused
from bot.media.request import EngravingRequest, MediaRequest
from bot.music.turns import hidden_measures
from bot.service.card import Arrangement, Media
from bot.service.choirs import Choirs
from bot.service.composing import Composing
from bot.service.media_requests import MediaSource, media_request
from bot.service.turned import hidden_in, page_choir, sung_reading

# The ways that have a page of their own beside the day's: from the right it is the answer.
WITH_PAGE = (Way.RETROGRADE, Way.RHYTHM_ONLY, Way.HIDDEN_MEASURES)
_OFFERED = frozenset(
    {
        Media.PICTURE,
        Media.PICTURE_SVG,
        Media.PHONE_PICTURE,
        Media.SHEET_PICTURE,
        Media.PITCH_SOUND,
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class TurnedPages:
    """What the board asks for, of readings that are kept."""

    choirs: Choirs
    composing: Composing
    media: MediaSource

    async def get(self, reading_id: str, part: int, way: Way, media: Media) -> bytes:
        """A picture or the starting note of one part, from 0, in that way.

        Refused("way.no_page") for a way without a page of its own, or other media than those;
        RenderFailed.
        """
        reading = await self.composing.find(reading_id)
        choir = await self.choirs.get(reading.choir_id)
        return await self.media.get_or_make(turned_request(reading, choir, part, way, media))


def turned_request(
    reading: Reading, choir: Choir, part: int, way: Way, media: Media
) -> MediaRequest:
    """What to make of one part of a reading in that way; refused as `TurnedPages.get` says."""
    if way not in WITH_PAGE or media not in _OFFERED:
        raise Refused("way.no_page")
    together = Arrangement.TOGETHER
    if way is Way.RETROGRADE:
        return media_request(sung_reading(reading, way), choir, together, part, media)
    if media is Media.PITCH_SOUND:
        raise Refused("way.no_page")
    if way is Way.RHYTHM_ONLY:
        return media_request(reading, page_choir(choir, way), together, part, media)
    hidden = hidden_in(reading)
    try:
        left = replace(reading, exercise=hidden_measures(reading.exercise, hidden))
    except ValueError as error:
        raise Refused("way.no_page") from error
    page = media_request(left, choir, together, part, media)
    assert isinstance(page, EngravingRequest)
    return replace(page, emptied=hidden)
