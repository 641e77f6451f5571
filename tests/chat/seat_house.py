"""A room without an approval: no seats, and no page that nags."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from types import SimpleNamespace
from typing import Any

from bot.activities.curtain import HomeWeek


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


@dataclass
class NoSpans:
    """Nobody tells how far the line was held; `known` are weeks of a sheet of before."""

    known: tuple[HomeWeek, ...] = ()

    async def asked_in(self, choir_id: str) -> bool:
        return False

    async def weeks(self, choir_id: str) -> tuple[HomeWeek, ...]:
        return self.known


def no_seating(choirs: Any) -> Any:
    """What `Services.seating` is in a room without an approval."""
    return SimpleNamespace(
        approvals=NoApprovals(), seats=NoSeats(), spans=NoSpans(), rights=MemoryRights(choirs)
    )
