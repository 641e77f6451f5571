"""A story that is composed in the background, its program stopped half-way, its page left open."""

import time
from urllib.parse import urlsplit

import pytest

from bot.service import story_frozen
from tests.fakes.choirs import a_choir
from tests.fakes.clock import FakeClock
from tests.system.program import running
from tests.system.story_house import shelve
from tests.system.test_access import violations
from tests.system.test_story_in_browser import at

pytestmark = pytest.mark.browser


def _never(*_given, said, **_more):
    """Composes as long as the program runs."""
    while True:
        said(2, 5)
        time.sleep(0.02)


@pytest.mark.long
async def test_a_story_outlasts_the_program_and_its_page_turns_to_it_by_itself(
    open_page, tmp_path, monkeypatch
):
    shelve(tmp_path)
    monkeypatch.setattr(story_frozen, "set_story", _never)
    clock = FakeClock(at(14, 7))
    page = await open_page(width=360)
    async with running(tmp_path, clock) as program:
        await program.assembly.services.choirs.add(a_choir())
        await page.goto(program.room.url + "desk/choir/choir-1/story")
        card = page.locator(".shelf > li", has=page.get_by_role("heading", name="The kettle"))
        await card.get_by_role("button", name="Begin").dblclick()
        await page.get_by_text("2 of 5 lines are there.").wait_for()
        assert await violations(page) == []
        port = urlsplit(program.room.url).port
    monkeypatch.undo()
    async with running(tmp_path, clock, port) as program:
        await page.get_by_text("The story stands at scene 1.").wait_for(timeout=60_000)
        assert await program.assembly.services.stories.tellings.now("choir-1") is not None
        async with program.database.snapshot() as read:
            assert await read.rows("SELECT * FROM makings") == []
            assert len(await read.rows("SELECT * FROM story_runs")) == 1
