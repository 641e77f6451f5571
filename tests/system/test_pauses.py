"""What could hold up every tap at once: pauses of the whole program."""

import asyncio
import gc

from tests.fakes.clock import FakeClock
from tests.fakes.world import EIGHT
from tests.system.program import running


async def test_what_was_built_at_the_start_is_not_searched_for_garbage_while_the_program_runs(
    tmp_path,
):
    gc.collect()
    before = len(gc.get_objects())
    async with running(tmp_path, FakeClock(EIGHT)):
        async with asyncio.timeout(10):
            while not gc.get_freeze_count():  # noqa: ASYNC110 - nothing rings a bell
                await asyncio.sleep(0.01)
        assert len(gc.get_objects()) < before / 4
    assert gc.get_freeze_count() == 0
