"""Tables for lines that are sung together, kept between readings: the slow part of composing parts.

Whoever composes for choirs shares them: readings of the day, the stage, sub folder and matches.

A table belongs to a plan (the steps, the voices' tones, the key) and to this release. The next line
of a choir that stays at its steps is then drawn from tables that are there already.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from threading import Lock
from typing import TypeVar, cast

from bot import __version__
from bot.music.canon import Canons
from bot.music.companion import RoomPlan
from bot.music.ensemble import Lay, Room
from bot.music.voice_leading import Manner

_T = TypeVar("_T", Room, Canons)
_MOST_BYTES = 400_000_000


class PartTables:
    """Rooms and canons by the hash of their plan; what was not used for longest goes first.

    `most_bytes` bounds the memory of all tables but the newest. Tables are made as a line is drawn,
    so whoever draws from them in a thread holds `one_at_a_time`.
    """

    def __init__(self, most_bytes: int = _MOST_BYTES) -> None:
        self._most = most_bytes
        self._rooms: dict[str, Room | Canons] = {}
        self._lock = Lock()
        self.one_at_a_time = Lock()

    def room(self, plan: RoomPlan, manner: Manner | None = None, lay: Lay | None = None) -> Room:
        """The room of a plan with the tables that it has by now; made where there is none."""
        return self._kept(plan_hash(plan, manner, lay), lambda: Room(plan, manner, lay))

    def canons(self, plan: RoomPlan) -> Canons:
        """The canons of a plan, in the same way."""
        return self._kept(f"canon {plan_hash(plan)}", lambda: Canons(plan))

    def _kept(self, key: str, make: Callable[[], _T]) -> _T:
        with self._lock:
            kept = self._rooms.pop(key, None) or make()
            self._rooms[key] = kept  # the newest stands last
            while len(self._rooms) > 1 and self.bytes > self._most:
                del self._rooms[next(iter(self._rooms))]
        return cast("_T", kept)

    @property
    def bytes(self) -> int:
        """The memory that all tables take."""
        return sum(room.bytes for room in self._rooms.values())

    def __len__(self) -> int:
        return len(self._rooms)


def plan_hash(plan: RoomPlan, manner: Manner | None = None, lay: Lay | None = None) -> str:
    """32 hex digits: the same for the same steps, tones, key, way of singing and release."""
    way = lay.__name__ if lay else ""
    said = "\n".join([__version__, str(plan.key), str(plan.shared), repr(manner), way])
    for line in plan.lines:
        level = line.level
        rows = (
            level.sequence, level.steps, line.footing.value, line.do_octaves, line.voices,
            line.tones, sorted(level.skips), level.conditions, level.rules, level.metres,
            level.cells, level.pickup, level.held, level.forms,
            _focus(level.pitch_focus), _focus(level.rhythm_focus),
        )  # fmt: skip
        said += "\n" + "|".join(map(repr, rows))
    return hashlib.sha256(said.encode()).hexdigest()[:32]


def _focus(focus: object) -> str:
    """What is newest, in an order that does not change from one start of the program to another."""
    fields = getattr(focus, "__slots__", ())
    return ";".join(
        repr(sorted(value, key=repr) if isinstance(value, frozenset) else value)
        for value in (getattr(focus, name) for name in fields)
    )
