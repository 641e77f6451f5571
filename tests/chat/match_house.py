"""A room without a match and without a plan; their pages are tested over the real service."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from bot.activities.match_rules import Rules
from bot.activities.match_sides import Heads
from bot.activities.rotation import Kind
from bot.errors import Refused
from bot.service.plans import Plan


@dataclass
class UsualRules:
    """No choir has rules of its own."""

    usual: Rules = field(default_factory=Rules)

    async def own(self, choir_id: str) -> None:
        return None

    async def of(self, choir_id: str) -> Rules:
        return self.usual

    async def back(self, choir_id: str) -> None:
        """Nothing is kept."""

    async def keep(self, choir_id: str, form: object) -> Rules:
        return self.usual

    def file(self, rules: Rules) -> str:
        return ""


@dataclass
class NoMatches:
    """Nothing was played."""

    house: UsualRules = field(default_factory=UsualRules)

    async def open_of(self, choir_id: str) -> None:
        return None

    async def latest_of(self, choir_id: str) -> None:
        return None

    async def score_today(self, choir_id: str) -> None:
        return None

    async def term(self, choir_id: str) -> tuple[object, ...]:
        return ()

    async def last_heads(self, choir_id: str) -> tuple[Heads, ...]:
        return ()

    async def find(self, match_id: str) -> None:
        raise Refused("match.unknown")

    async def choir_of(self, match_id: str) -> None:
        raise Refused("match.unknown")


@dataclass
class NoPlans:
    """No day has anything planned; `was` is what the stage told of today."""

    choirs: Any
    was: list[tuple[str, str]] = field(default_factory=list)

    async def week(self, choir_id: str) -> Plan:
        choir = await self.choirs.get(choir_id)
        return Plan(choir=choir, today=choir.starts_on, days=(), offered=())

    async def was_read(self, choir_id: str, kind: Kind) -> None:
        self.was.append((choir_id, kind.value))
