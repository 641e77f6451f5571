"""Two weeks of a class with seats, seen by its director and three singers, the program behind.

Monday the school signs, slips are cut, three singers sit down; on Tuesday one marks Monday as well;
Wednesday is a day of rest; on Thursday the laptop restarts in the middle of the lesson and a slip
is lost; on the second Monday the week is told as kept; on the second Friday the approval ends.
"""

import re
from datetime import date, datetime
from urllib.parse import urlsplit
from zoneinfo import ZoneInfo

import pytest

from bot.app import Running
from tests.fakes.choirs import a_choir
from tests.fakes.clock import FakeClock
from tests.system.program import running
from tests.system.test_access import violations
from tests.system.waiting import until

pytestmark = pytest.mark.browser

NEW_YORK = ZoneInfo("America/New_York")
CODE = re.compile(r"[0-9A-HJKMNP-TV-Z]{4}-[0-9A-HJKMNP-TV-Z]{4}")


def at(day: int, hour: int = 9, minute: int = 0) -> datetime:
    return datetime(2026, 9, day, hour, minute, tzinfo=NEW_YORK)


async def _the_school_signs(desk, program: Running) -> None:
    """A draft from the form, its print, the number typed in from the signed paper."""
    await desk.goto(program.room.url + "desk/approvals/new")
    await desk.get_by_role("button", name="Make the draft").click()
    await desk.get_by_role("alert").get_by_role("link", name="Write the school’s name.").click()
    assert await desk.evaluate("document.activeElement.id") == "school"
    assert await violations(desk) == []
    await desk.get_by_label("School", exact=True).fill("Lindenfield Middle School")
    await desk.get_by_label("Families are told on").fill("2026-09-10")
    await desk.get_by_label("Last day", exact=True).fill("2026-09-24")
    await desk.get_by_label("The term ends on").fill("2026-09-24")
    await desk.get_by_label("see their own practice row").check()
    await desk.get_by_label("Families ask").fill("the school office")
    await desk.get_by_label("When something goes wrong").fill("the principal")
    await desk.get_by_role("button", name="Make the draft").click()
    number = await desk.locator(".hash strong").inner_text()
    await desk.get_by_label("Number from the signed print").fill("0000 0000 0000 0000")
    await desk.get_by_role("button", name="The school has signed it").click()
    await desk.get_by_text("That is not the number").wait_for()
    assert await violations(desk) == []
    await desk.get_by_label("Number from the signed print").fill(number)
    await desk.get_by_role("button", name="The school has signed it").click()
    await desk.get_by_text("The sheet holds.").wait_for()
    assert await violations(desk) == []


async def _slips(desk, program: Running) -> list[str]:
    """The codes of three new seats, read off the page that is printed."""
    await desk.goto(program.room.url + "desk/choir/choir-1/seats")
    assert await violations(desk) == []
    await desk.get_by_label("Seats in all").fill("3")
    await desk.get_by_role("button", name="Make seats and print slips").click()
    await desk.locator(".slip").nth(2).wait_for()
    assert await violations(desk) == []
    return CODE.findall(await desk.locator(".slips").inner_text())


async def _sit(singer, program: Running, code: str) -> None:
    """Come by the square on the slip: the code leaves the address bar before anything is sent."""
    await singer.goto("about:blank")
    await singer.goto(f"{program.room.url}seat#{code}")
    await singer.locator("#code").wait_for()
    await until(singer, "location.hash === ''")
    assert await singer.get_by_label("Code on the slip").input_value() == code
    await singer.get_by_role("button", name="Sit down").click()
    await singer.get_by_role("heading", name="I read it").wait_for()


async def _tap(singer, program: Running, answer: str = "Steady") -> None:
    await singer.goto(program.room.url + "seat")
    await singer.locator("section.taps > form").get_by_role("button", name=answer).click()
    await singer.get_by_text("Marked.").wait_for()


async def _marks(singer) -> list[str]:
    """The practice row as it is read aloud: each day's mark."""
    told = await singer.locator(".row-drawing li").evaluate_all(
        "all => all.map(e => e.textContent)"
    )
    return [line.rsplit(": ", 1)[1] for line in told]


@pytest.mark.long
async def test_two_weeks_of_a_class(open_page, tmp_path):
    clock = FakeClock(at(14, 7))
    desk, first, second, third = [await open_page(width=w) for w in (1280, 360, 360, 1024)]
    async with running(tmp_path, clock) as program:
        port = urlsplit(program.room.url).port
        await program.assembly.services.choirs.add(a_choir())
        await _the_school_signs(desk, program)
        codes = await _slips(desk, program)
        assert len(set(codes)) == 3
        await clock.to(at(14))
        for singer, code in zip((first, second, third), codes, strict=True):
            await _sit(singer, program, code)
        assert await violations(first) == []
        await _tap(first, program)
        await _tap(second, program, "Bumpy")
        await _say_it_differently(second)

        await clock.to(at(15))
        await _sit(third, program, codes[2])
        await third.get_by_text("An earlier day").click()
        await third.locator(".earlier").get_by_role("button", name="Not yet").click()
        await third.get_by_text("Marked.").wait_for()
        await _tap(third, program)
        assert await _marks(third) == ["read", "read"]
        await _sit(first, program, codes[0])
        await _tap(first, program)

        await clock.to(at(16))
        await _give_a_rest(desk, program)
        await clock.to(at(17))
        await _sit(first, program, codes[0])
        await _tap(first, program)

    # The laptop restarts in the middle of Thursday's lesson; the phone in the hand goes on.
    async with running(tmp_path, clock, port) as program:
        await first.goto(program.room.url + "seat")
        assert await _marks(first) == ["read", "read", "a rest", "read"]
        codes[0] = await _a_slip_is_lost(desk, first, program, codes[0])
        await _guessing_has_to_wait(await open_page(), program, clock, codes[1])

        await clock.to(at(21))
        await _sit(first, program, codes[0])
        assert await first.locator(".kept").all_inner_texts() == ["One week kept."]
        assert await _marks(first) == ["read", "read", "a rest", "read", "open", "open"]
        await _the_director_sees_no_single_singer(desk, program)

        # Thursday is the approval's last day: on Friday nothing about a seat is there to be seen.
        await clock.to(at(24, 23, 50))
        await _sit(first, program, codes[0])
        await clock.to(at(25, 0, 0))
        await first.reload()
        assert await first.get_by_role("heading", name="Take your seat").is_visible()
        await clock.to(at(25))
        await first.get_by_label("Code on the slip").fill(codes[0])
        await first.get_by_role("button", name="Sit down").click()
        assert await first.locator(".fault").count() == 1
        await desk.goto(program.room.url)
        assert await desk.get_by_role("link", name="My seat").count() == 0
        await _everything_else_goes_on(desk, program)


async def _say_it_differently(singer) -> None:
    await singer.get_by_text("You said: bumpy.").wait_for()
    await singer.get_by_text("Say it differently").click()
    await singer.locator("section.taps details").get_by_role("button", name="Steady").click()
    await singer.get_by_text("You said: steady.").wait_for()


async def _give_a_rest(desk, program: Running) -> None:
    await desk.goto(program.room.url + "desk/choir/choir-1/seats")
    await desk.get_by_role("button", name="Give a rest").click()
    await desk.get_by_text("The class has a rest that day.").wait_for()
    assert await violations(desk) == []


async def _a_slip_is_lost(desk, singer, program: Running, old: str) -> str:
    """One click makes another; the finder of the old slip gets nowhere."""
    await desk.goto(program.room.url + "desk/choir/choir-1/seats")
    await desk.get_by_role("button", name="New slip for seat 1").click()
    (fresh,) = CODE.findall(await desk.locator(".slips").inner_text())
    await singer.goto(program.room.url + "seat")
    await singer.get_by_label("Code on the slip").fill(old)
    await singer.get_by_role("button", name="Sit down").click()
    await singer.get_by_text("That code opens no seat.").wait_for()
    assert await violations(singer) == []
    await _sit(singer, program, fresh)
    assert await _marks(singer) == ["read", "read", "a rest", "read"]
    return fresh


async def _guessing_has_to_wait(guesser, program: Running, clock: FakeClock, right: str) -> None:
    await guesser.goto(program.room.url + "seat")
    for number in range(5):
        await guesser.get_by_label("Code on the slip").fill(f"0000-000{number}")
        await guesser.get_by_role("button", name="Sit down").click()
        await guesser.locator(".fault").wait_for()
    await guesser.get_by_label("Code on the slip").fill(right)
    await guesser.get_by_role("button", name="Sit down").click()
    await guesser.get_by_text("Too many wrong codes.").wait_for()
    await clock.to(at(17, 9, 10))


async def _the_director_sees_no_single_singer(desk, program: Running) -> None:
    """Three singers are fewer than five: their counts say nothing of them."""
    await desk.goto(program.room.url + "desk/choir/choir-1/seats")
    cells = await desk.locator("tbody td").all_inner_texts()
    assert set(cells) == {"a few", "hidden"}
    assert await violations(desk) == []


async def _everything_else_goes_on(desk, program: Running) -> None:
    cards = await program.assembly.services.readings.board("choir-1")
    assert cards[-1].on == date(2026, 9, 25)
    await desk.goto(program.room.url + "desk")
    assert await desk.get_by_text("A sheet ends").count() == 0


@pytest.mark.parametrize("path", ["seat", "notice", "notice/keeping", "desk/approvals"])
async def test_pages_without_an_approval_have_no_fault_of_access(open_page, tmp_path, path):
    async with running(tmp_path, FakeClock(at(14))) as program:
        await program.assembly.services.choirs.add(a_choir())
        page = await open_page(width=360, color_scheme="dark")
        await page.goto(program.room.url + path)

        assert await violations(page) == []
