"""Everything about seats in one bundle, and how it is put together."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from bot.service.approvals import Approvals, Circumstances
from bot.service.choirs import Choirs
from bot.service.clock import Clock
from bot.service.discord_gate import DiscordGate
from bot.service.home_spans import HomeSpans
from bot.service.keeper import Keeper
from bot.service.practice import Practice
from bot.service.rights import Rights
from bot.service.seat_links import SeatLinks
from bot.service.seat_safe import SeatSafe
from bot.service.seats import Seats
from bot.store.database import Database


@dataclass(frozen=True, slots=True, kw_only=True)
class Seating:
    """What surfaces call about seats; `keeper.run()` goes on beside them."""

    approvals: Approvals
    seats: Seats
    practice: Practice
    spans: HomeSpans
    rights: Rights
    safe: SeatSafe
    gate: DiscordGate
    links: SeatLinks
    keeper: Keeper


def assemble_seating(
    database: Database,
    clock: Clock,
    choirs: Choirs,
    folder: Path,
    circumstances: Circumstances | None = None,
) -> Seating:
    """Put it together over an open database and its folder, where the keys lie."""
    approvals = Approvals(database, clock, circumstances)
    safe = SeatSafe(database, clock, approvals, folder)
    seats, practice = (
        Seats(database, clock, approvals, safe, folder),
        Practice(database, clock, approvals),
    )
    spans = HomeSpans(database, clock, approvals)
    gate = DiscordGate(database, clock, approvals)
    links = SeatLinks(database, clock, gate, folder)
    keeper = Keeper(
        database=database,
        clock=clock,
        choirs=choirs,
        approvals=approvals,
        seats=seats,
        practice=practice,
        spans=spans,
        safe=safe,
        links=links,
        folder=folder,
    )
    return Seating(
        approvals=approvals,
        seats=seats,
        practice=practice,
        spans=spans,
        rights=Rights(database, clock, approvals, choirs, safe),
        safe=safe,
        gate=gate,
        links=links,
        keeper=keeper,
    )
