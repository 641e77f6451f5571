"""Tables for lines that are sung together, kept between readings: the slow part of composing parts.

A table belongs to a plan (the steps, the voices' tones, the key) and to this release. The next line
of a choir that stays at its steps is then drawn from tables that are there already.
"""

from __future__ import annotations

import hashlib
from threading import Lock

from bot import __version__
from bot.music.companion import RoomPlan
from bot.music.ensemble import Lay, Room
from bot.music.voice_leading import Manner

_MOST_BYTES = 400_000_000


class PartTables:
    """Rooms by the hash of their plan; the one that was not used for longest goes first.

    `most_bytes` bounds the memory of all tables but the newest.
    """

    def __init__(self, most_bytes: int = _MOST_BYTES) -> None:
        self._most = most_bytes
        self._rooms: dict[str, Room] = {}
        self._lock = Lock()

    def room(self, plan: RoomPlan, manner: Manner | None = None, lay: Lay | None = None) -> Room:
        """The room of a plan with the tables that it has by now; made where there is none."""
        key = plan_hash(plan, manner, lay)
        with self._lock:
            room = self._rooms.pop(key, None) or Room(plan, manner, lay)
            self._rooms[key] = room  # the newest stands last
            while len(self._rooms) > 1 and self.bytes > self._most:
                del self._rooms[next(iter(self._rooms))]
        return room

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
