"""Discord keeps the promises of a surface, on the stand-in."""

from __future__ import annotations

from dataclasses import replace

import pytest

from bot.errors import Refused
from tests.chat.discord.stage import a_stage
from tests.chat.house import a_choir
from tests.contracts.surface_contract import CARD, OTHER_CHOIR, OTHER_DAY, SurfaceContract
from tests.fakes.world import EIGHT


class TestDiscordSurface(SurfaceContract):
    @pytest.fixture
    async def surface(self, tmp_path):
        async with a_stage(tmp_path, linked=False, now=EIGHT) as stage:
            for choir_id in {CARD.choir_id, OTHER_CHOIR.choir_id}:
                choir = a_choir(choir_id, f"a choir {choir_id}")
                channel = stage.discord.world.add_channel(stage.guild, f"reading-{choir_id}")
                await stage.add_choir(choir)
                await stage.link(choir, channel)
                if choir_id == CARD.choir_id:
                    self.channel = channel
            stage.readings.up += [CARD, OTHER_DAY, OTHER_CHOIR]
            self.stage = stage
            async with stage.connected() as connected:
                yield connected

    async def test_what_a_card_says_anew_stands_in_its_message_and_with_its_files(self, surface):
        message_id = await self.up(surface, CARD)
        (message,) = self.stage.posted(self.channel)
        names = set(message.files)

        await surface.renew(replace(CARD, title="5 measures in F major"), message_id)

        assert "5 measures in F major" in message.embed["description"]
        assert set(message.files) == names
        assert len(message.body["attachments"]) == len(names) - 1  # the picture is in the embed

    async def test_a_message_that_is_gone_cannot_be_changed(self, surface):
        message_id = await self.up(surface, CARD)
        (message,) = self.stage.posted(self.channel)
        message.deleted = True

        with pytest.raises(Refused, match=r"discord\.message_removed"):
            await surface.renew(CARD, message_id)
