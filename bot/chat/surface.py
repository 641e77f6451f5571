"""The port: what the service asks of any chat, be it the room or Discord."""

from __future__ import annotations

from typing import Protocol

from bot.service.card import ReadingCard


class Surface(Protocol):
    """A chat that can carry cards. Implementations: `chat/room`, `chat/discord`, a fake."""

    @property
    def name(self) -> str:
        """Stable short name, part of every delivery row."""
        ...

    async def carries(self, choir_id: str) -> bool:
        """Whether this choir's cards go up here; the room carries every choir.

        Where one is not carried, no delivery is claimed, so none is ever unsure or missed.
        Raises SurfaceUnavailable where the surface is known to be away: then nothing is begun.
        """
        ...

    async def post(self, card: ReadingCard, nonce: str) -> str:
        """Put a card up once and return its message id; the same nonce never posts twice.

        Raises SurfaceUnavailable when it is not known whether the card arrived.
        """
        ...

    async def find(self, card: ReadingCard) -> str | None:
        """The message id of a card that is already up, None if it is not there.

        Raises SurfaceUnavailable where the history cannot be read.
        """
        ...
