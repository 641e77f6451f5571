"""The plan as it is typed and as it is seen: `riserbell plan`, and a month at the desk."""

import asyncio
import subprocess
import sys
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from bot.activities.choir import Steps
from bot.store.choirs import add_choir
from bot.store.folder import lock, open_database
from tests.chat import house
from tests.fakes.clock import FakeClock
from tests.fakes.drawn import open_services
from tests.system.test_access import violations
from tests.system.waiting import until


@pytest.fixture(scope="module")
def data(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A school's data folder with one choir that meets every weekday."""
    folder = tmp_path_factory.mktemp("data")

    async def plant() -> None:
        async with open_database(folder) as database, database.transaction() as change:
            await add_choir(change, house.a_choir(name="Period 3"), date(2025, 9, 1))

    asyncio.run(plant())
    return folder


def _plan(data: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    line = [sys.executable, "-m", "bot", "plan", "--data", str(data)]
    return subprocess.run([*line, *arguments], capture_output=True, text=True, timeout=60)


def test_a_week_is_told_a_line_a_day_with_minutes_and_reasons(data):
    # The command goes by the machine's own clock.
    ahead = datetime.now(UTC).date() + timedelta(weeks=3)
    monday = ahead - timedelta(days=ahead.weekday())
    done = _plan(data, "--choir", "period 3", "--week", ahead.isoformat())
    assert done.returncode == 0, done.stderr
    lines = done.stdout.splitlines()
    assert len(lines) == 5
    day = f"Mon, {monday:%b} {monday.day}"
    assert lines[0].startswith(f"{day}: As it stands, up to 4 measures, 5 minutes (")
    assert sum(": As it stands," not in line for line in lines) == 2


def test_a_choir_that_is_not_there_is_told_and_so_is_a_room_that_runs(data):
    done = _plan(data, "--choir", "Nobody")
    assert (done.returncode, "Period 3" in done.stderr) == (2, True)
    with lock(data):
        done = _plan(data, "--choir", "Period 3")
    assert (done.returncode, len(done.stderr.splitlines())) == (2, 1)
    assert "look at the plan at its desk" in done.stderr


@pytest.fixture
async def services(tmp_path):
    """A choir that reads lines of four and eight measures."""
    async with open_services(tmp_path, FakeClock(house.MONDAY_MORNING)) as found:
        choir = house.a_choir(steps=Steps(pitch="p04", rhythm="r02"))
        await found.choirs.add(house.replace(choir, voices=choir.voices[:1]))
        yield found


@pytest.mark.browser
async def test_a_month_is_planned_and_previewed_in_a_few_presses(open_page, services, room):
    page = await open_page(width=1280, height=900)
    await page.goto(room.url + "desk/choir/c1/plan?of=2025-12")
    assert await page.locator(".plan-day").count() == 23
    await page.get_by_label("What Tuesday, December 2 reads").select_option("match")
    await page.get_by_role("button", name="Keep this plan").click()
    await page.get_by_text("The plan is kept.").wait_for()
    assert await page.locator("#day-2025-12-02").input_value() == "match"
    await page.locator("summary").first.click()
    picture = page.locator(".plan-week").first.locator("img").first
    await picture.scroll_into_view_if_needed()
    await until(page, "document.querySelector('.plan-week img').naturalWidth > 0", 20)


@pytest.mark.browser
@pytest.mark.parametrize("scheme", ["light", "dark"])
async def test_the_plan_has_no_fault_that_axe_core_knows_at_any_width(
    open_page, services, room, scheme
):
    for width in (360, 1280):
        page = await open_page(width=width, height=800, color_scheme=scheme)
        await page.goto(room.url + "desk/choir/c1/plan?of=2025-12")
        assert await violations(page) == []
        assert await page.evaluate("document.documentElement.scrollWidth <= innerWidth")
