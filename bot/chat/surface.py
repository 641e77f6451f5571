"""The port: what the service asks of any chat, be it the room or Discord."""

from __future__ import annotations

from datetime import date
from typing import Protocol

from bot.service.card import Card


class Surface(Protocol):
    """A chat that can carry cards. Implementations: `chat/room`, `chat/discord`, a fake."""

    @property
    def name(self) -> str:
        """Stable short name, part of every delivery row."""
        ...

    async def carried_since(self, choir_id: str) -> date | None:
        """The choir's first date whose card goes up here (date.min: from the start), or None.

        Where a choir is not carried nothing is claimed, so nothing is ever unsure or missed.
        Raises SurfaceUnavailable where the surface is known to be away: then nothing is begun.
        """
        ...

    async def post(self, card: Card, nonce: str) -> str:
        """Put a card up once and return its message id; the same nonce never posts twice.

        Raises SurfaceUnavailable when it is not known whether the card arrived.
        """
        ...

    async def find(self, card: Card) -> str | None:
        """The message id of a card that is already up, None if it is not there.

        Raises SurfaceUnavailable where the history cannot be read.
        """
        ...

    async def renew(self, card: Card, message_id: str) -> None:
        """Let a message that is up say what the card says now; done twice it does no harm.

        Raises Refused where it cannot be changed, SurfaceUnavailable where that is not known.
        """
        ...
