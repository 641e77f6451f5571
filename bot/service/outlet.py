"""The port through which the service posts; `chat.surface.Surface` has the same shape."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from datetime import date
from typing import Protocol

from bot.errors import SurfaceUnavailable
from bot.service.card import Card


class Outlet(Protocol):
    """A place that can carry cards."""

    @property
    def name(self) -> str:
        """Stable short name, part of every delivery row."""
        ...

    async def carried_since(self, choir_id: str) -> date | None:
        """The choir's first date whose card goes up here (date.min: from the start), or None.

        What is not carried is never claimed, and what lies before that date is never missed.
        Raises SurfaceUnavailable where the place is known to be away: then nothing is begun there.
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


class Outlets:
    """The places that are connected. Surfaces are built from the services, so they come later."""

    def __init__(self, *outlets: Outlet) -> None:
        self._connected = list(outlets)

    def connect(self, outlet: Outlet) -> None:
        """Post there too from now on."""
        self._connected.append(outlet)

    def __iter__(self) -> Iterator[Outlet]:
        return iter(tuple(self._connected))

    async def of(self, choir_id: str) -> tuple[Outlet, ...]:
        """The places that carry a choir, less those that are away just now."""
        found = []
        for outlet in self:
            with suppress(SurfaceUnavailable):
                if await outlet.carried_since(choir_id) is not None:
                    found.append(outlet)
        return tuple(found)
