"""A room without an approval: no seats, and no page that nags."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from types import SimpleNamespace
from typing import Any


@dataclass
class NoApprovals:
    """No sheet holds for anybody."""

    async def current(self, choir_id: str, today: date) -> None:
        return None

    async def clock_doubtful(self) -> bool:
        return False

    async def lines(self) -> tuple[object, ...]:
        return ()


@dataclass
class NoSeats:
    """Nobody can sit down."""

    async def at(self, token: str) -> None:
        return None


@dataclass
class MemoryRights:
    """Only choirs to be removed."""

    choirs: Any

    async def remove_choir(self, choir_id: str) -> None:
        await self.choirs.remove(choir_id)


def no_seating(choirs: Any) -> Any:
    """What `Services.seating` is in a room without an approval."""
    return SimpleNamespace(approvals=NoApprovals(), seats=NoSeats(), rights=MemoryRights(choirs))
