"""A surface kept in memory, which can fail before or after it stored a card."""

import asyncio
from collections.abc import Callable
from datetime import date

from bot.errors import SurfaceUnavailable
from bot.service.card import ReadingCard


class FakeSurface:
    """Keeps every card that arrived, in order; honours nonces as long as they are remembered.

    `before_store` and `after_store` run inside `post`; whatever they raise comes out of it.
    `readable` is whether the history may be looked through; `without` names choirs that it does
    not carry, `since` is the first date of the others here.
    """

    def __init__(self, name: str = "fake") -> None:
        self._name = name
        self.cards: list[ReadingCard] = []
        self.nonces: dict[str, str] = {}
        self.renewed: list[str] = []
        self.readable = True
        self.without: set[str] = set()
        self.since = date.min
        self.before_store: Callable[[], None] = lambda: None
        self.after_store: Callable[[], None] = lambda: None

    @property
    def name(self) -> str:
        return self._name

    async def carried_since(self, choir_id: str) -> date | None:
        return None if choir_id in self.without else self.since

    async def post(self, card: ReadingCard, nonce: str) -> str:
        await asyncio.sleep(0)
        if nonce in self.nonces:
            return self.nonces[nonce]
        self.before_store()
        self.cards.append(card)
        self.nonces[nonce] = f"message-{len(self.cards)}"
        self.after_store()
        await asyncio.sleep(0)
        return self.nonces[nonce]

    async def find(self, card: ReadingCard) -> str | None:
        await asyncio.sleep(0)
        if not self.readable:
            raise SurfaceUnavailable("the history of the fake surface cannot be read")
        for index, posted in enumerate(self.cards, start=1):
            if posted.key == card.key:
                return f"message-{index}"
        return None

    async def renew(self, card: ReadingCard, message_id: str) -> None:
        await asyncio.sleep(0)
        self.before_store()
        self.renewed.append(message_id)
        self.cards[int(message_id.partition("-")[2]) - 1] = card
        self.after_store()

    def break_off(self, *, stored: bool) -> None:
        """Go dead in the middle of every posting, before or after the card is kept."""

        def fail() -> None:
            raise SurfaceUnavailable("the line went dead")

        self.mend()
        if stored:
            self.after_store = fail
        else:
            self.before_store = fail

    def mend(self) -> None:
        """Work again."""
        self.before_store = self.after_store = lambda: None

    def forget_nonces(self) -> None:
        """As a chat does after some minutes."""
        self.nonces.clear()

    @property
    def keys(self) -> list[str]:
        """The keys of all cards that arrived, in order."""
        return [card.key for card in self.cards]
