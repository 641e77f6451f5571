"""What the status page shows: last and next posting of each choir, and what needs a look."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class ChoirStatus:
    """One choir. Moments are aware and in the choir's zone; `trouble` is a sentence to show."""

    choir_id: str
    choir_name: str
    last_on: date | None
    last_at: datetime | None
    next_on: date | None
    next_at: datetime | None
    unsure: tuple[date, ...] = ()
    missed: tuple[date, ...] = ()
    trouble: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Status:
    """The whole installation; `data_bytes` is the size of the data folder."""

    version: str
    born: str
    data_bytes: int
    choirs: tuple[ChoirStatus, ...]


class StatusPage:
    """Call it to look."""

    async def __call__(self) -> Status:
        """Gather the status as it is now."""
        raise NotImplementedError
