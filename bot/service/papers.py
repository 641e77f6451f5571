"""What the desk shows and hands out beside the coming readings, in one bundle."""

from __future__ import annotations

from dataclasses import dataclass

from bot.service.choirs import Choirs
from bot.service.clock import Clock
from bot.service.composing import Composing
from bot.service.content import Content
from bot.service.media_requests import MediaSource
from bot.service.month import Months
from bot.service.music_desk import MusicDesk
from bot.service.partners_desk import PartnersDesk
from bot.service.ranges import Ranges
from bot.service.sub import Subs
from bot.service.takehome import TakeHome
from bot.store.database import Database


@dataclass(frozen=True, slots=True, kw_only=True)
class Papers:
    """The week's sheets, the substitute's folder, the month, music, range tests, partner lines."""

    home: TakeHome
    subs: Subs
    months: Months
    music: MusicDesk
    ranges: Ranges
    partners: PartnersDesk


def assemble_papers(
    database: Database,
    choirs: Choirs,
    composing: Composing,
    content: Content,
    media: MediaSource,
    clock: Clock,
) -> Papers:
    """Put them together over an open database."""
    return Papers(
        home=TakeHome(database, choirs, composing, media, clock, content.wording),
        subs=Subs(database, choirs, content, media, clock, composing.tables),
        months=Months(database, choirs, clock, content.wording),
        music=MusicDesk(choirs, composing, content, media),
        ranges=Ranges(database, choirs, content, clock),
        partners=PartnersDesk(
            database=database,
            choirs=choirs,
            composing=composing,
            content=content,
            media=media,
            clock=clock,
        ),
    )
