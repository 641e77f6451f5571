"""The bundle of use cases that every surface receives."""

from __future__ import annotations

from dataclasses import dataclass

from bot.service.choirs import Choirs
from bot.service.clock import Clock
from bot.service.content import Content
from bot.service.desk import Desk
from bot.service.readings import Readings
from bot.service.status import StatusPage


@dataclass(frozen=True, slots=True, kw_only=True)
class Services:
    """Everything that a surface may call; `await services.status()` gives the status."""

    content: Content
    clock: Clock
    choirs: Choirs
    readings: Readings
    desk: Desk
    status: StatusPage
