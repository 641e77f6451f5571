"""A whole story: told in class by a clicker, and at home over days with a restart in a vote."""

from datetime import datetime, time
from urllib.parse import urlsplit
from zoneinfo import ZoneInfo

import pytest

from bot.activities.story_run import Phase, Venue
from bot.privacy.approval import Activity, short_hash
from bot.store.approvals import add_draft
from tests.fakes.choirs import a_choir
from tests.fakes.clock import FakeClock
from tests.privacy.sheets import a_sheet, written
from tests.system.program import running
from tests.system.story_house import shelve
from tests.system.test_access import violations
from tests.system.waiting import until

pytestmark = pytest.mark.browser

NEW_YORK = ZoneInfo("America/New_York")


def at(day: int, hour: int = 9) -> datetime:
    return datetime(2026, 9, day, hour, tzinfo=NEW_YORK)


async def _press(page, *keys):
    for key in keys:
        await page.keyboard.press(key)


async def _hint(page, text):
    await page.locator("#hint", has_text=text).wait_for()


async def _begin(page, program, venue="in class"):
    await page.goto(program.room.url + "desk/choir/choir-1/story")
    card = page.locator(".shelf > li", has=page.get_by_role("heading", name="The kettle"))
    await card.get_by_label(venue).check()
    assert await violations(page) == []
    await card.get_by_role("button", name="Begin").click()
    await page.get_by_text("The story stands at scene 1.").wait_for(timeout=60_000)


async def _lose_the_answer(route):
    """The room hears the call, and dies before it answers."""
    assert (await route.fetch()).ok
    await route.abort()


async def _back_from_the_line(page):
    """Through the routine to its end in one look: the choice that stands marked leads back."""
    await page.locator("#stop", has_text="Ready").wait_for()
    marked = page.locator("#choices .marked")
    for _ in range(30):
        if await page.evaluate("document.body.dataset.stop") == "done":
            break
        await _press(page, "PageDown")
    assert await marked.inner_text() == "On with the story"
    await _press(page, "PageDown")
    await page.wait_for_url("**/story?sung=*")


async def test_a_class_goes_through_a_whole_story_by_a_clicker(open_page, tmp_path):
    shelve(tmp_path)
    page = await open_page(width=1280, height=720)
    async with running(tmp_path, FakeClock(at(14))) as program:
        await program.assembly.services.choirs.add(a_choir())
        await _begin(page, program)
        assert await violations(page) == []
        await page.get_by_role("link", name="On the stage").click()
        await page.get_by_text("The kettle sits on the stove.").wait_for()
        await _hint(page, "The next press")
        assert await violations(page) == []

        await _press(page, "PageDown")
        await page.wait_for_url("**?reading=*")
        await _back_from_the_line(page)
        await _hint(page, "Eyes down.")
        assert await violations(page) == []
        await _press(page, ".", *["ArrowUp"] * 7)
        assert await page.locator(".strips .marked .tally").inner_text() == "7"
        await _press(page, "ArrowRight")
        await _hint(page, "The next press goes on.")
        assert "Ask the cup" in await page.locator(".strips .chosen").inner_text()

        await _press(page, "u")
        await _hint(page, "The next press brings the line.")
        await page.goto(page.url + "?sung=line")
        await page.route("**/story/choose", _lose_the_answer, times=1)
        await _press(page, "1")
        await _hint(page, "The next press goes on.")
        await _press(page, "PageDown")
        await page.get_by_text("The spoon taps the lid twice.").wait_for()
        await _hint(page, "The next press brings the line.")  # the page's script is there now

        await _press(page, "e")
        await _hint(page, "The story rests.")
        await _press(page, "PageDown")
        await _hint(page, "The next press brings the line.")
        await page.goto(page.url.split("?")[0] + "?sung=line")
        await _press(page, "1")
        await _hint(page, "The next press goes on.")
        await _press(page, "PageDown")
        await page.get_by_text("Steam!").wait_for()
        await page.goto(page.url.split("?")[0] + "?sung=line")
        await _hint(page, "together")
        await _press(page, "PageDown")
        await page.wait_for_url("**?reading=*")
        await _back_from_the_line(page)
        await _hint(page, "closes the book")
        await _press(page, "PageDown")
        await page.wait_for_url("**/stage/choir-1")
        (told,) = await program.assembly.services.stories.tellings.past("choir-1")
        assert told.run.scenes == ("stove", "spoon", "steam")


async def _approve(program):
    tree = a_sheet("choir-1", activities=frozenset({Activity.TAPS, Activity.VOTES}))
    data = written(tree)
    async with program.database.transaction() as change:
        await add_draft(change, tree["sheet_id"], data)
    seating = program.assembly.services.seating
    await seating.approvals.confirm(tree["sheet_id"], short_hash(data))
    return [slip.code for slip in await seating.seats.make("choir-1", 3)]


async def _vote(singer, program, code, label):
    await singer.goto(program.room.url + "seat")
    if await singer.locator("#code").count():
        await singer.locator("#code").fill(code)
        await singer.get_by_role("button", name="Sit down").click()
    await singer.get_by_role("button", name=f"Vote for: {label}").click()
    await singer.get_by_text("Your vote is kept.").wait_for()


@pytest.mark.long
async def test_at_home_a_story_goes_on_by_itself_with_a_restart_in_a_vote(open_page, tmp_path):
    shelve(tmp_path)
    clock = FakeClock(at(14, 7))
    board, first, second = [await open_page(width=w) for w in (1024, 360, 360)]
    async with running(tmp_path, clock) as program:
        services = program.assembly.services
        await services.choirs.add(a_choir())
        codes = await _approve(program)
        await services.stories.tellings.begin(
            "choir-1", "kettle", Venue.HOME, closes=time(20), quorum=2
        )
        await board.goto(program.room.url)
        await board.get_by_text("The kettle sits on the stove.").wait_for()
        await clock.to(at(14))
        await board.get_by_text("The vote is open until 8:00 PM.").wait_for()
        assert await violations(board) == []
        await _vote(first, program, codes[0], "Ask the cup")
        assert await violations(first) == []
        await _vote(first, program, codes[0], "Ask the spoon")
        port = urlsplit(program.room.url).port
    async with running(tmp_path, clock, port) as program:
        services = program.assembly.services
        await _vote(second, program, codes[1], "Ask the spoon")
        await clock.to(at(14, 20))
        await board.get_by_text("The vote is over.").wait_for()
        assert await board.locator(".strips .count").count() == 0
        await clock.to(at(15))
        await board.get_by_text("You went this way: Ask the spoon.").wait_for()
        await _vote(first, program, codes[0], "Tap along")
        await clock.to(at(15, 21))
        told = await services.stories.tellings.now("choir-1")
        assert told.run.phase is Phase.QUESTION

        desk = await open_page(width=1280)
        await desk.goto(program.room.url + "desk/choir/choir-1/story")
        await desk.get_by_role("button", name="Add water").click()
        await clock.to(at(16))
        await board.get_by_text("The kettle sings of rain.").wait_for()
        await until(board, "document.querySelectorAll('[data-story]').length === 1")
        await clock.to(at(17))
        await until(board, "true")
        assert await services.stories.tellings.now("choir-1") is None
        async with program.database.snapshot() as read:
            assert await read.rows("SELECT * FROM story_ballots") == []
