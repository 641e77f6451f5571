"""What every surface promises to the service. A test class per surface inherits it.

    class TestRoom(SurfaceContract):
        @pytest.fixture
        async def surface(self, ...): ...

`ready(card)` lets a surface that shows what the store holds (the room) put the card there first.
"""

from dataclasses import replace
from datetime import timedelta

from tests.fakes.cards import a_card
from tests.fakes.choirs import MONDAY

CARD = a_card()
OTHER_DAY = a_card(on=MONDAY + timedelta(days=1))
OTHER_CHOIR = a_card(choir_id="choir-2")


class SurfaceContract:
    """Needs a fixture `surface`; every choir of the cards is carried by it."""

    async def ready(self, surface, card):
        """Do what the service does before it posts."""

    async def up(self, surface, card, nonce=None):
        await self.ready(surface, card)
        return await surface.post(card, nonce or f"nonce {card.key}")

    def test_its_name_is_short_and_plain(self, surface):
        assert surface.name.isidentifier()
        assert surface.name == surface.name.lower()
        assert len(surface.name) <= 20

    async def test_it_says_since_when_it_carries_a_choir(self, surface):
        since = await surface.carried_since(CARD.choir_id)

        assert since is not None
        assert since <= CARD.on

    async def test_a_card_that_went_up_is_found_under_its_message_id(self, surface):
        message_id = await self.up(surface, CARD)

        assert message_id
        assert await surface.find(CARD) == message_id

    async def test_a_card_that_never_went_up_is_not_found(self, surface):
        await self.up(surface, OTHER_DAY)

        assert await surface.find(CARD) is None

    async def test_the_same_nonce_is_the_same_message(self, surface):
        first = await self.up(surface, CARD, "one")

        second = await surface.post(CARD, "one")

        assert first == second

    async def test_a_card_that_says_something_new_stays_the_same_message(self, surface):
        message_id = await self.up(surface, CARD)
        other = await self.up(surface, OTHER_DAY)

        for _ in range(2):
            await surface.renew(replace(CARD, title="5 measures in F major"), message_id)

        assert await surface.find(CARD) == message_id
        assert await surface.find(OTHER_DAY) == other

    async def test_cards_of_two_days_and_two_choirs_are_three_messages(self, surface):
        ids = [await self.up(surface, card) for card in (CARD, OTHER_DAY, OTHER_CHOIR)]

        assert len(set(ids)) == 3
        assert [await surface.find(card) for card in (CARD, OTHER_DAY, OTHER_CHOIR)] == ids
