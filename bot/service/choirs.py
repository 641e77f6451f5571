"""Choirs as the desk keeps them: list, add, change, remove."""

from __future__ import annotations

from bot.activities.choir import Choir


class Choirs:
    """Every change rings the bell, so that the scheduler follows it at once."""

    async def all(self) -> tuple[Choir, ...]:
        """Every choir, in the order in which they were added."""
        raise NotImplementedError

    async def get(self, choir_id: str) -> Choir:
        """One choir; Refused("choir.unknown") where there is none of that id."""
        raise NotImplementedError

    async def add(self, choir: Choir) -> None:
        """Keep a new choir; Refused("choir.exists") where the id is taken."""
        raise NotImplementedError

    async def change(self, choir: Choir) -> None:
        """Replace a choir; lines that are ready but not yet posted are made anew if need be."""
        raise NotImplementedError

    async def remove(self, choir_id: str) -> None:
        """Delete a choir with its readings and everything that was kept about it."""
        raise NotImplementedError
