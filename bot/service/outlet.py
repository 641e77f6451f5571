"""The port through which the service posts; `chat.surface.Surface` has the same shape."""

from __future__ import annotations

from typing import Protocol

from bot.service.card import ReadingCard


class Outlet(Protocol):
    """A place that can carry cards."""

    @property
    def name(self) -> str:
        """Stable short name, part of every delivery row."""
        ...

    async def carries(self, choir_id: str) -> bool:
        """Whether this choir's cards go up here; where not, nothing is owed and nothing missed."""
        ...

    async def post(self, card: ReadingCard, nonce: str) -> str:
        """Put a card up once and return its message id; the same nonce never posts twice."""
        ...

    async def find(self, card: ReadingCard) -> str | None:
        """The message id of a card that is already up, None if it is not there."""
        ...
