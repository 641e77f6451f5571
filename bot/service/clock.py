"""The port of time. The real clock is built in app.py, a settable one lives in tests."""

from __future__ import annotations

from datetime import datetime
from typing import Protocol


class Clock(Protocol):
    """What time it is, and waiting for time to pass."""

    def now(self) -> datetime:
        """The present moment, aware and in UTC."""
        ...

    async def sleep(self, seconds: float) -> None:
        """Return once `now()` has moved on by so many seconds.

        It follows the wall clock: a machine that was suspended or set anew has moved on.
        """
        ...
