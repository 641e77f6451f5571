"""What leaves the room on paper or as a file, in one bundle."""

from __future__ import annotations

from dataclasses import dataclass

from bot.service.choirs import Choirs
from bot.service.clock import Clock
from bot.service.composing import Composing
from bot.service.content import Content
from bot.service.media_requests import MediaSource
from bot.service.sub import Subs
from bot.service.takehome import TakeHome
from bot.store.database import Database


@dataclass(frozen=True, slots=True, kw_only=True)
class Papers:
    """The week's sheets and the substitute's folder."""

    home: TakeHome
    subs: Subs


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
        subs=Subs(database, choirs, content, media, clock),
    )
