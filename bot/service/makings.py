"""What takes long to compose, made in the background: a story, lines of a match, partner lines.

A wish is kept before it is answered and forgotten in the transaction that keeps what was made. So a
program that is stopped half-way takes it up again when it next runs, and nothing is made twice.
"""

from __future__ import annotations

import logging
from collections.abc import Awaitable, Callable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import partial

from bot.errors import RiserbellError
from bot.service.changes import Listener
from bot.service.troubles import Troubles
from bot.store.database import Database
from bot.store.makings import Waiting, all_waiting, drop_wish, keep_wish, wish_of

_log = logging.getLogger(__name__)


class Made(StrEnum):
    """What is made; the value is kept in the database and names its trouble."""

    STORY = "story"
    MATCH = "match"
    PARTNERS = "partners"


Said = Callable[[int, int], None]  # how many lines are there, of how many; called from a thread
# Makes what a choir asked for, given as JSON, and forgets the wish as it keeps what was made.
Make = Callable[[str, str, Said], Awaitable[None]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Making:
    """How far something is: the wish while it is made, else what kept it from being made."""

    wish: str | None
    done: int = 0
    whole: int = 0
    fault: Exception | None = None


class Stopped(Exception):
    """Ends the thread of a making when the program stops."""


def say_nothing(_done: int, _whole: int) -> None:
    """For a making that nobody watches."""


class Makings:
    """Makes one thing after the other. Wishes are told apart by choir and kind."""

    def __init__(self, database: Database, troubles: Troubles, makers: Mapping[Made, Make]) -> None:
        self._database = database
        self._troubles = troubles
        self._makers = makers
        self._bell = Listener()
        self._far: dict[tuple[str, str], tuple[int, int]] = {}
        self._faults: dict[tuple[str, str], Exception] = {}
        self._stopped = False

    async def ask(self, choir_id: str, made: Made, wish: str) -> None:
        """Ask for something; nothing more happens where the choir waits for one already."""
        async with self._database.transaction() as change:
            await keep_wish(change, Waiting(choir_id, made.value, wish))
        self._faults.pop((choir_id, made.value), None)
        self._troubles.clear(choir_id, made.value)
        self._bell.hear()

    async def of(self, choir_id: str, made: Made) -> Making | None:
        """How far it is; None where nothing was asked for, or all went well."""
        key = choir_id, made.value
        async with self._database.snapshot() as read:
            wish = await wish_of(read, *key)
        fault = self._faults.get(key)
        if wish is None and fault is None:
            return None
        done, whole = self._far.get(key, (0, 0))
        return Making(wish=wish, done=done, whole=whole, fault=fault)

    async def run(self) -> None:
        """Make what waits, now and after every wish, for ever."""
        try:
            while True:
                await self.round()
                await self._bell.wait()
        finally:
            self._stopped = True

    async def round(self) -> None:
        """Make all that waits; what fails does not stop the next."""
        async with self._database.snapshot() as read:
            waiting = await all_waiting(read)
        for each in waiting:
            try:
                await self._make(each)
            except Exception as error:
                await self._failed(each, error)

    async def _make(self, each: Waiting) -> None:
        key = each.choir_id, each.kind
        try:
            make = self._makers[Made(each.kind)]
            await make(each.choir_id, each.wish, partial(self._note, key))
        finally:
            self._far.pop(key, None)

    def _note(self, key: tuple[str, str], done: int, whole: int) -> None:
        if self._stopped:
            raise Stopped
        self._far[key] = done, whole

    async def _failed(self, each: Waiting, error: Exception) -> None:
        """Forget the wish, and keep for the page and for the status page why."""
        key = each.choir_id, each.kind
        async with self._database.transaction() as change:
            await drop_wish(change, *key)
        self._faults[key] = error
        self._troubles.note(*key, error)
        _log.warning("a %s could not be made: %s", each.kind, type(error).__name__)
        if not isinstance(error, RiserbellError):
            _log.error("making failed in an unforeseen way", exc_info=error)
