"""A week in the life of a choir, seen by its board and its desk, with the real program behind.

Wednesday evening the director sets it up; the choir reads on Thursday and Friday; over the weekend
the laptop is shut and the clocks go back; Monday is a day off; on Tuesday the board, left open all
the while, shows the next line by itself; on Wednesday the laptop is opened late; Thursday is plain.
"""

from datetime import datetime, time
from pathlib import Path
from urllib.parse import urlsplit
from zoneinfo import ZoneInfo

import pytest

from bot.app import Running
from bot.service.readings import UpcomingState
from tests.fakes.clock import FakeClock
from tests.system.program import running
from tests.system.waiting import pictures, until

pytestmark = pytest.mark.browser

NEW_YORK = ZoneInfo("America/New_York")
DAYS = [
    "Thursday, October 29",
    "Friday, October 30",
    "Tuesday, November 3",
    "Wednesday, November 4",
    "Thursday, November 5",
]


def at(month: int, day: int, hour: int, minute: int = 0) -> datetime:
    return datetime(2026, month, day, hour, minute, tzinfo=NEW_YORK)


async def _set_up(page, program: Running) -> None:
    """The director's two minutes: a name, two voices, a step; days off typed in."""
    await page.goto(program.room.url)
    await page.get_by_label("Name of the choir").fill("Period 3")
    await page.locator("#voices").get_by_label("Baritone").check()
    await page.get_by_label("Pitch").select_option("p04")
    await page.get_by_label("Rhythm", exact=True).select_option("r03")
    await page.locator(".more-fields > summary").click()
    await page.get_by_label("Days off").fill("11/2/2026")
    await page.get_by_label("First line on or after").fill("2026-10-29")
    await page.get_by_role("button", name="Start").click()
    await page.get_by_text("The choir is set up.").wait_for()


async def _days_up(page) -> list[str]:
    return await page.locator(".sheet .day").evaluate_all("all => all.map(e => e.textContent)")


async def _sheets(page, count: int) -> None:
    await until(page, f"document.querySelectorAll('.sheet').length === {count}", seconds=30)


async def _heard(page) -> None:
    """Key and starting note of the open sheet are MP3 files that the browser can play.

    The line itself has no address yet: it is heard after the first try only.
    """
    sounds = page.locator(".sheet[open] audio[src]")
    paths = await sounds.evaluate_all("all => all.map(a => a.src)")
    assert len(paths) >= 2
    for path in paths:
        answer = await page.request.get(path)
        assert (answer.status, answer.headers["content-type"]) == (200, "audio/mpeg")
    await page.locator(".sheet[open] button.fork").first.click()
    await until(page, "[...document.querySelectorAll('audio')].some(a => a.currentTime > 0)")
    await page.get_by_role("button", name="Stop").click()


async def _told(page, sentence: str) -> None:
    await page.locator("#notice", has_text=sentence).wait_for()


async def test_a_week_of_readings(open_page, tmp_path):
    clock = FakeClock(at(10, 28, 17, 30))
    desk = await open_page(timezone_id="America/New_York")
    board = await open_page()

    async with running(tmp_path, clock) as program:
        port = urlsplit(program.room.url).port
        await _set_up(desk, program)
        (choir,) = await program.assembly.services.choirs.all()
        assert (choir.zone, choir.post_at) == ("America/New_York", time(8))
        await _the_week_is_planned(desk, program)

        await board.goto(program.room.url)
        assert await _days_up(board) == []
        await _told(board, "No meeting today. The next line comes tomorrow at 8:00 AM.")

        await clock.to(at(10, 29, 7, 59))
        await board.reload()
        assert await _days_up(board) == []
        await _told(board, "Today’s line comes at 8:00 AM.")
        await clock.to(at(10, 29, 8))
        await _sheets(board, 1)
        await pictures(board)
        await _heard(board)

        await board.locator("h1").click()  # the class has left yesterday's sheet
        await clock.to(at(10, 30, 8))
        await _sheets(board, 2)
        assert await board.locator(".sheet[open]").count() == 1

    # The laptop is shut on Friday after school. The clocks go back on Sunday at two.
    clock.set(at(11, 1, 20))
    async with running(tmp_path, clock, port) as program:
        await _the_weekend_and_the_day_off_are_quiet(board, program, clock)

        await clock.to(at(11, 3, 7, 59))
        await board.wait_for_timeout(300)
        assert await _days_up(board) == DAYS[:2]
        await clock.to(at(11, 3, 8))
        await _sheets(board, 3)

    # Wednesday's posting time passes while the laptop is shut; it is opened in second period.
    clock.set(at(11, 4, 10, 20))
    async with running(tmp_path, clock, port) as program:
        await _sheets(board, 4)
        await clock.to(at(11, 5, 8))
        await _sheets(board, 5)
        await pictures(board)

        assert await _days_up(board) == DAYS
        await _nothing_was_posted_twice(program, choir.id)
        await _the_status_page_is_content(desk, program)


async def _the_week_is_planned(desk, program: Running) -> None:
    """The desk shows the five lines that will come, the day off left out, each as a picture."""
    headings = await desk.locator(".day h3").all_inner_texts()
    assert headings == DAYS
    await desk.locator(".day").last.scroll_into_view_if_needed()
    await pictures(desk)
    friday = await desk.locator(".day img").nth(1).evaluate("image => image.src")
    before = await (await desk.request.get(friday)).body()
    await desk.get_by_role("button", name=f"Draw another line for {DAYS[1]}").click()
    await desk.get_by_text("There is a new line for that day.").wait_for()
    assert await (await desk.request.get(friday)).body() != before


async def _the_weekend_and_the_day_off_are_quiet(board, program: Running, clock: FakeClock) -> None:
    """A board left open reconnects to the room by itself; nothing goes up until Tuesday."""
    await clock.to(at(11, 2, 12))
    await board.goto(program.room.url)
    assert await _days_up(board) == DAYS[:2]
    await _told(board, "No meeting today. The next line comes tomorrow at 8:00 AM.")


async def _nothing_was_posted_twice(program: Running, choir_id: str) -> None:
    cards = await program.assembly.services.readings.board(choir_id)
    assert [f"{card.on:%A}, {card.on:%B} {card.on.day}" for card in cards] == DAYS
    assert len({card.reading_id for card in cards}) == 5
    scores = {await program.assembly.services.readings.musicxml(card.reading_id) for card in cards}
    assert len(scores) == 5
    (today, *_) = await program.assembly.services.readings.upcoming(choir_id)
    assert today.state is UpcomingState.POSTED


async def _the_status_page_is_content(desk, program: Running) -> None:
    await desk.goto(program.room.url + "desk/status")
    row = await desk.locator("tbody tr").inner_text()
    assert "Thursday, November 5, 8:00 AM" in row
    assert "Friday, November 6, 8:00 AM" in row
    assert await desk.locator(".trouble").count() == 0


async def test_a_board_left_open_over_a_restart_shows_the_next_line_by_itself(
    open_page, tmp_path: Path
):
    clock = FakeClock(at(10, 28, 17, 30))
    desk, board = await open_page(timezone_id="America/New_York"), await open_page()
    async with running(tmp_path, clock) as program:
        port = urlsplit(program.room.url).port
        await _set_up(desk, program)
        await board.goto(program.room.url)
        await board.evaluate("window.sameDocument = true")

    async with running(tmp_path, clock, port):
        await clock.to(at(10, 29, 8))
        await _sheets(board, 1)

    assert await board.evaluate("window.sameDocument")
