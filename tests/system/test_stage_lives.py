"""The stage over the whole program: a real line, real pictures and sounds, and a restart."""

import pytest

from bot.service.card import Arrangement, Media
from tests.fakes.choirs import BARITONE, TREBLE, a_choir
from tests.fakes.clock import FakeClock
from tests.fakes.world import EIGHT
from tests.system.program import running
from tests.system.test_stage_in_browser import press
from tests.system.waiting import until

pytestmark = pytest.mark.browser


async def test_a_lesson_without_any_preparation(open_page, tmp_path):
    """Nothing was opened at the desk: key, a reading, hearing it, and another line like it."""
    clock = FakeClock(EIGHT)
    async with running(tmp_path, clock) as program:
        services = program.assembly.services
        await services.choirs.add(a_choir(voices=(TREBLE, BARITONE)))
        page = await open_page(width=1920, height=1080)
        await page.goto(program.room.url + "stage")
        await page.wait_for_selector("#line svg")
        assert page.url.endswith("/stage/choir-1")
        line = (await services.lesson.line("choir-1")).card.reading_id

        await press(page, *["+"] * 20, *["PageDown"] * 6)
        await until(page, "document.body.dataset.running === 'pulse'")
        await press(page, "h")
        await page.wait_for_selector("#line .cursor", state="attached")
        await press(page, "a")
        await page.wait_for_url("**?reading=*")
        await page.wait_for_selector("#line svg")
        fresh = page.url.rpartition("=")[2]

    assert fresh != line
    async with running(tmp_path, clock) as program:
        readings = program.assembly.services.readings
        assert await readings.media(line, Arrangement.TOGETHER, 1, Media.LINE_SOUND)
        assert (await readings.card(fresh)).measures
