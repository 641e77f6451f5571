"""A stage for each test, with the surface connected where a test asks for it."""

from __future__ import annotations

import pytest

from tests.chat.discord.stage import a_stage
from tests.chat.house import wording as words


@pytest.fixture
async def stage(tmp_path):
    async with a_stage(tmp_path) as made:
        yield made


@pytest.fixture
async def surface(stage):
    async with stage.connected() as connected:
        yield connected


@pytest.fixture
def wording():
    return words()
