"""What was read once and holds until something that matters is written."""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Hashable
from typing import Generic, TypeVar

from bot.store.database import Database

_Key = TypeVar("_Key", bound=Hashable)
_Value = TypeVar("_Value")


class Remembered(Generic[_Key, _Value]):
    """Values by key, all forgotten with the database's next generation.

    Only one process opens a database, so nothing changes behind its back.
    """

    def __init__(self, database: Database) -> None:
        self._database = database
        self._generation = -1
        self._values: dict[_Key, _Value] = {}

    def knows(self, key: _Key) -> bool:
        """Whether `get` will answer without the database."""
        if self._generation != self._database.generation:
            self._generation = self._database.generation
            self._values.clear()
        return key in self._values

    def value(self, key: _Key) -> _Value:
        """The value of a key that is known."""
        return self._values[key]

    async def get(self, key: _Key, look: Callable[[], Awaitable[_Value]]) -> _Value:
        """The value of a key; `look` reads it where it is not known."""
        if not self.knows(key):
            generation, value = self._generation, await look()
            if generation != self._database.generation:
                return value
            self._values[key] = value
        return self._values[key]
