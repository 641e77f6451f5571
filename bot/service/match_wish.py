"""What the desk asks for when it sets up a match, kept while its lines are drawn."""

from __future__ import annotations

import msgspec

from bot.service.makings import Said
from bot.service.match_values import MatchWish
from bot.service.matches import Matches


def wish_json(wish: MatchWish) -> str:
    """A wish as text."""
    return msgspec.json.encode(wish).decode()


def wish_kept(text: str) -> MatchWish:
    """A wish from its text."""
    return msgspec.json.decode(text, type=MatchWish)


async def set_up_wished(matches: Matches, choir_id: str, text: str, said: Said) -> None:
    """Draw what was wished for, as `Matches.set_up` does."""
    await matches.set_up(choir_id, wish_kept(text), said)
