"""The study clock on the stage: down from a choir's seconds, up where it has none set."""

from dataclasses import replace

import pytest

from tests.system.waiting import until

pytestmark = pytest.mark.browser
CLOCK = "document.getElementById('clock')"


async def test_the_clock_runs_down_and_stands_still_at_its_end(open_page, services, room):
    (choir,) = await services.choirs.all()
    shown = replace(choir.presentation, study_s=20)
    await services.choirs.change(replace(choir, presentation=shown))
    page = await open_page(width=1280, height=720)
    await page.clock.install()
    await page.goto(room.url + "stage")
    await page.wait_for_selector("#line svg")
    for key in ("PageDown", "PageDown", "PageDown", "t"):
        await page.keyboard.press(key)
        await page.clock.run_for(500)
    await until(page, f"{CLOCK}.textContent === '0:20' || {CLOCK}.textContent === '0:19'")
    await page.clock.run_for(12_000)
    assert await page.locator("#clock").inner_text() in ("0:07", "0:08")
    await page.clock.run_for(12_000)
    assert await page.locator("#clock").inner_text() == "0:00"
    assert await page.evaluate(f"{CLOCK}.classList.contains('over')")
