"""What the room's request handlers work with, hung into the application under one key."""

from __future__ import annotations

from dataclasses import dataclass, field

from aiohttp import web

from bot.activities.choir import Choir
from bot.chat.room.assets import Assets
from bot.chat.room.live import Hub
from bot.chat.room.lock import Sessions, Throttle
from bot.chat.room.pages import Pages
from bot.chat.room.safety import Address
from bot.chat.room.shared import SharedPages
from bot.service.card import ReadingCard
from bot.service.services import Services


@dataclass(slots=True, kw_only=True)
class Parts:
    """The one value that handlers reach; `address` is set anew once the port is known.

    `latest` holds the newest card that was posted in each choir's room since the start: it is up
    from that moment, whether or not its delivery is written down yet.
    """

    services: Services
    address: Address
    demo: bool
    assets: Assets
    pages: Pages
    hub: Hub
    sessions: Sessions
    throttle: Throttle
    latest: dict[str, ReadingCard]
    shared: SharedPages = field(default_factory=SharedPages)


PARTS = web.AppKey("parts", Parts)


def parts_of(request: web.Request) -> Parts:
    """The parts of the room that serves this request."""
    return request.app[PARTS]


async def choir_of(request: web.Request) -> Choir:
    """The choir that the address names; Refused("choir.unknown")."""
    return await parts_of(request).services.choirs.get(request.match_info["choir"])
