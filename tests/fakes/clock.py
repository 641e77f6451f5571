"""A clock that stands still until a test moves it."""

import asyncio
from datetime import UTC, datetime, timedelta

_REAL_PATIENCE_S = 20.0


class FakeClock:
    """Time moves only by `advance` and `set`; sleepers wake in the order of their due times.

    After each wake-up `advance` waits until somebody sleeps again, so that the work done at that
    moment is finished before time goes on: it is meant for loops that sleep, work and sleep.
    """

    def __init__(self, now: datetime) -> None:
        assert now.tzinfo is not None
        self._now = now.astimezone(UTC)
        self._sleepers: list[tuple[datetime, int, asyncio.Future[None]]] = []
        self._naps = 0
        self._asleep = asyncio.Event()

    def now(self) -> datetime:
        return self._now

    async def sleep(self, seconds: float) -> None:
        self._naps += 1
        self._asleep.set()
        if seconds <= 0:
            await asyncio.sleep(0)
            return
        woken: asyncio.Future[None] = asyncio.get_running_loop().create_future()
        sleeper = (self._now + timedelta(seconds=seconds), self._naps, woken)
        self._sleepers.append(sleeper)
        try:
            await woken
        finally:
            if sleeper in self._sleepers:
                self._sleepers.remove(sleeper)

    @property
    def sleepers(self) -> int:
        """How many sleep now."""
        return len(self._sleepers)

    async def until_asleep(self) -> None:
        """Wait (in real time) until somebody sleeps on this clock."""
        async with asyncio.timeout(_REAL_PATIENCE_S):
            while not self._sleepers:
                self._asleep.clear()
                await self._asleep.wait()

    async def advance(self, delta: timedelta) -> None:
        """Move time on, waking whoever is due on the way."""
        await self.to(self._now + delta)

    async def to(self, moment: datetime) -> None:
        """Move time on to a moment, waking whoever is due on the way."""
        target = moment.astimezone(UTC)
        while due := [s for s in self._sleepers if s[0] <= target]:
            first = min(due, key=lambda sleeper: sleeper[:2])
            self._sleepers.remove(first)
            self._now = max(self._now, first[0])
            await self._wake(first[2])
        self._now = max(self._now, target)

    def set(self, moment: datetime) -> None:
        """Jump to a moment, backwards too, without waking anybody: a clock set by hand."""
        self._now = moment.astimezone(UTC)

    async def _wake(self, woken: "asyncio.Future[None]") -> None:
        before = self._naps
        self._asleep.clear()
        woken.set_result(None)
        try:
            async with asyncio.timeout(_REAL_PATIENCE_S):
                while self._naps == before:
                    await self._asleep.wait()
        except TimeoutError:
            raise AssertionError("whoever was woken did not go back to sleep") from None
