"""The desk kept in memory: a passphrase in the open, and a status of one line a choir."""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from bot.errors import Refused
from bot.service.status import ChoirStatus, Status


@dataclass
class MemoryDesk:
    """A passphrase kept in the open, for tests only."""

    passphrase: str | None = None
    checks: int = 0
    key: bytes | None = None  # of the stage's tickets

    async def has_passphrase(self) -> bool:
        return self.passphrase is not None

    async def set_passphrase(self, text: str) -> None:
        if len(text) < 15:
            raise Refused("desk.passphrase.short", count=15)
        self.passphrase, self.key = text, None

    async def check_passphrase(self, text: str) -> bool:
        self.checks += 1
        return text == self.passphrase

    async def stage_key(self) -> bytes:
        self.key = self.key or secrets.token_bytes(32)
        return self.key


@dataclass
class MemoryStatus:
    """One line a choir; `unsure` and `missed` are said of all of them."""

    choirs: Any  # whatever lists choirs
    unsure: tuple[date, ...] = ()
    missed: tuple[date, ...] = ()

    async def __call__(self) -> Status:
        at = datetime(2025, 11, 24, 8, 0, tzinfo=ZoneInfo("America/Chicago"))
        lines = tuple(
            ChoirStatus(
                choir_id=choir.id,
                choir_name=choir.name,
                last_on=at.date(),
                last_at=at,
                next_on=at.date() + timedelta(days=1),
                next_at=at + timedelta(days=1),
                unsure=self.unsure,
                missed=self.missed,
            )
            for choir in await self.choirs.all()
        )
        return Status(version="0.1.0", born="test", data_bytes=4_200_000, choirs=lines)
