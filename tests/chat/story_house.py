"""A room in which no story is told."""

from types import SimpleNamespace
from typing import Any


class NoTellings:
    """No choir is in a story."""

    def heard_by(self, _hear: Any) -> None:
        pass

    async def sings(self, _choir_id: str, _reading_id: str) -> None:
        return None

    async def now(self, _choir_id: str) -> None:
        return None

    async def past(self, _choir_id: str) -> tuple[()]:
        return ()


class NoVotes:
    """No seat has anything to vote on."""

    async def ballot(self, _seat_id: str) -> None:
        return None


def no_stories() -> Any:
    """What `Services.stories` is between stories."""
    return SimpleNamespace(tellings=NoTellings(), votes=NoVotes())


class NoMakings:
    """Nothing is made in the background."""

    async def of(self, _choir_id: str, _made: Any) -> None:
        return None
