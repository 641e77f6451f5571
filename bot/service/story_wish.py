"""What the desk asks for when it begins a story, kept while the story is composed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import time

import msgspec

from bot.activities.story_run import Venue
from bot.service.makings import Said
from bot.service.tellings import Tellings


@dataclass(frozen=True, slots=True, kw_only=True)
class StoryWish:
    """A story by its id, where it is told, when votes from home close and how many it needs."""

    story_id: str
    venue: Venue
    closes: time
    quorum: int


def wish_json(wish: StoryWish) -> str:
    """A wish as text."""
    return msgspec.json.encode(wish).decode()


def wish_kept(text: str) -> StoryWish:
    """A wish from its text."""
    return msgspec.json.decode(text, type=StoryWish)


async def begin_wished(tellings: Tellings, choir_id: str, text: str, said: Said) -> None:
    """Compose what was wished for and begin it, as `Tellings.begin` does."""
    wish = wish_kept(text)
    await tellings.begin(
        choir_id, wish.story_id, wish.venue, closes=wish.closes, quorum=wish.quorum, said=said
    )
