"""The playful readings of the stage and the sheets, in one bundle."""

from __future__ import annotations

from dataclasses import dataclass

from bot.service.choirs import Choirs
from bot.service.clips import Clips
from bot.service.clock import Clock
from bot.service.composing import Composing
from bot.service.content import Content
from bot.service.curtains import Curtains
from bot.service.media_requests import MediaSource
from bot.service.mystery import Mysteries
from bot.service.tune_home import TunesAtHome
from bot.service.turned_media import TurnedPages
from bot.store.database import Database


@dataclass(frozen=True, slots=True, kw_only=True)
class Play:
    """The curtain, its films, mystery tunes, pages of a reading that is read another way."""

    curtains: Curtains
    clips: Clips
    mysteries: Mysteries
    turned: TurnedPages
    tunes_at_home: TunesAtHome


def assemble_play(
    database: Database,
    choirs: Choirs,
    composing: Composing,
    content: Content,
    media: MediaSource,
    clock: Clock,
) -> Play:
    """Put it together over an open database."""
    mysteries = Mysteries(database, choirs, composing, content, clock)
    return Play(
        curtains=Curtains(database, choirs, composing, clock),
        clips=Clips(
            database=database,
            choirs=choirs,
            composing=composing,
            media=media,
            say=content.wording,
        ),
        mysteries=mysteries,
        turned=TurnedPages(choirs=choirs, composing=composing, media=media),
        tunes_at_home=TunesAtHome(
            mysteries=mysteries, composing=composing, media=media, say=content.wording
        ),
    )
