"""Discord keeps the promises of a surface, on the stand-in."""

from __future__ import annotations

import pytest

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
            stage.readings.up += [CARD, OTHER_DAY, OTHER_CHOIR]
            async with stage.connected() as connected:
                yield connected
