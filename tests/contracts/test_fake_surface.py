"""The fake keeps the promises of a surface, or tests built on it would prove nothing."""

import pytest

from bot.errors import SurfaceUnavailable
from tests.contracts.surface_contract import CARD, SurfaceContract
from tests.fakes.surface import FakeSurface


class TestFakeSurface(SurfaceContract):
    @pytest.fixture
    def surface(self):
        return FakeSurface()

    async def test_the_same_nonce_puts_one_card_up(self, surface):
        await surface.post(CARD, "one")
        await surface.post(CARD, "one")

        assert surface.keys == [CARD.key]

    async def test_a_history_that_cannot_be_read_says_so(self, surface):
        surface.readable = False

        with pytest.raises(SurfaceUnavailable):
            await surface.find(CARD)
