"""Many small writes at one moment, kept by one commit: they wait for the disk together."""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable
from typing import Any, TypeVar

from bot.errors import Refused
from bot.privacy.gate import NOTHING_ALLOWED
from bot.store.database import Database, Transaction

_Result = TypeVar("_Result")
_Work = Callable[[Transaction], Awaitable[Any]]
_Waiting = tuple[_Work, "asyncio.Future[Any]"]
_AT_ONCE = 64


class Together:
    """Runs pieces of work one after another in a common transaction.

    A piece that refuses (Refused) has written nothing yet; the others go on. Where anything else
    goes wrong all of it is taken back, and each piece gets a transaction of its own.
    """

    def __init__(self, database: Database) -> None:
        self._database = database
        self._waiting: list[_Waiting] = []
        self._going: asyncio.Task[None] | None = None

    async def do(self, work: Callable[[Transaction], Awaitable[_Result]]) -> _Result:
        """What the work returns or raises, once it is kept. It may call `allow` for itself."""
        done: asyncio.Future[_Result] = asyncio.get_running_loop().create_future()
        self._waiting.append((work, done))
        if self._going is None or self._going.done():
            self._going = asyncio.create_task(self._go())
        return await done

    async def _go(self) -> None:
        while self._waiting:
            batch, self._waiting = self._waiting[:_AT_ONCE], self._waiting[_AT_ONCE:]
            await self._keep(batch)

    async def _keep(self, batch: list[_Waiting]) -> None:
        try:
            async with self._database.transaction() as change:
                outcomes = [await _outcome(work, change) for work, _ in batch]
        except Exception as error:
            if len(batch) > 1:
                for one in batch:
                    await self._keep([one])
                return
            outcomes = [error]
        for (_, done), outcome in zip(batch, outcomes, strict=True):
            if done.done():
                continue  # whoever waited has gone
            if isinstance(outcome, Exception):
                done.set_exception(outcome)
            else:
                done.set_result(outcome)


async def _outcome(work: _Work, change: Transaction) -> object:
    change.allow(NOTHING_ALLOWED)  # what one piece was allowed is not the next one's
    try:
        return await work(change)
    except Refused as refused:
        return refused
