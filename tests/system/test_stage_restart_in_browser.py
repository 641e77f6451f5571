"""The program is begun anew under an open stage, and whoever stands before it holds a clicker."""

from datetime import timedelta

import pytest

from bot.chat.room.server import Room, RoomOptions
from tests.chat import house
from tests.chat.lesson_house import a_line_of
from tests.system.test_stage_in_browser import SHORT, ended, on_stage, press, stop_of
from tests.system.waiting import until

pytestmark = pytest.mark.browser


async def sign_in(page, room):
    form = {"passphrase": house.PASSPHRASE, "next": "/stage"}
    answer = await page.request.post(
        f"{room.url}desk/sign-in", form=form, headers={"Origin": room.url.rstrip("/")}
    )
    assert answer.ok


async def test_a_clicker_goes_on_after_a_restart_behind_a_locked_desk(open_page, services, room):
    services.lesson.exercise = a_line_of(SHORT)
    services.desk.passphrase = house.PASSPHRASE
    page = await open_page()
    await sign_in(page, room)
    await page.goto(f"{room.url}stage")
    await page.wait_for_selector("#line svg")
    await press(page, *["+"] * 20, *["PageDown"] * 6)
    await until(page, "document.body.dataset.running === 'pulse'")
    await room.stop()

    await press(page, "PageDown")
    assert await stop_of(page) == "mend"
    await page.locator("#notice", has_text="The room does not answer.").wait_for()
    await press(page, "c")
    await page.locator("#notice", has_text="The room does not answer.").wait_for()
    assert services.lesson.opened == set()

    again = Room(services, RoomOptions(port=room._parts.address.port))
    await again.start()
    try:
        await press(page, "PageDown", "PageDown")
        assert await stop_of(page) == "hear"
        await ended(page)
        assert services.lesson.opened == {"today"}
        assert (await page.request.get(f"{room.url}desk")).status == 401
        await press(page, "a")
        await page.wait_for_url("**?reading=another")
        await page.wait_for_selector("#line svg")
    finally:
        await again.stop()


@pytest.mark.long
async def test_a_page_that_is_loaded_again_goes_on_where_the_lesson_stood(open_page, room):
    page = await on_stage(open_page, room)
    await press(page, "+", "ArrowDown", *["PageDown"] * 7, "ArrowRight")
    assert await stop_of(page) == "mend"
    facts = await page.locator(".stage-facts").inner_text()

    await page.reload()
    await page.wait_for_selector("#line .bracket")

    assert await stop_of(page) == "mend"
    assert await page.locator(".stage-facts").inner_text() == facts
    await press(page, "PageUp")
    assert await stop_of(page) == "first"
    await page.goto(f"{room.url}stage")
    await page.wait_for_selector("#line svg")
    assert await stop_of(page) == "ready"


async def test_all_that_can_follow_is_in_sight_at_the_end_on_a_small_projector(open_page, room):
    page = await on_stage(open_page, room, 1280, 720)
    await press(page, *["PageDown"] * 12)
    assert await stop_of(page) == "done"
    for choice in await page.locator("#choices li").all():
        box = await choice.bounding_box()
        assert box["y"] + box["height"] <= 720
    heading = await page.locator("#stop").bounding_box()
    assert heading["height"] < 100


@pytest.mark.long
async def test_a_clicker_comes_back_from_a_page_that_has_nothing_to_show(open_page, services, room):
    page = await on_stage(open_page, room)
    await press(page, *["PageDown"] * 12)
    assert await stop_of(page) == "done"

    await page.goto(f"{room.url}stage/c1/story")
    await page.get_by_text("Every key of a clicker leads back.").wait_for()
    await press(page, "PageDown")

    await page.wait_for_url("**/stage/c1")
    await page.wait_for_selector("#line svg")
    assert await stop_of(page) == "done"


@pytest.mark.long
async def test_the_curtains_place_is_asked_for_again_where_the_room_did_not_answer(
    open_page, services, room
):
    page = await open_page()
    asked = []

    async def once_lost(route):
        asked.append(route.request.url)
        await (route.abort() if len(asked) == 1 else route.continue_())

    await page.route("**/curtain", once_lost)
    await page.goto(f"{room.url}stage/c1?way=curtain")
    await page.wait_for_selector("#line svg")
    await press(page, *["PageDown"] * 6)
    assert await stop_of(page) == "first"
    await until(page, "document.body.dataset.running === 'pulse'")
    assert len(asked) == 2


@pytest.mark.long
async def test_a_stage_whose_day_is_over_takes_a_new_ticket_where_the_desk_is_open(
    open_page, services, room
):
    page = await on_stage(open_page, room)
    services.clock.set(house.MONDAY_MORNING + timedelta(hours=11))
    answers = []
    page.on("response", lambda answer: answers.append((answer.url[-7:], answer.status)))

    await press(page, "a")
    await page.wait_for_url("**?reading=another")

    assert [status for end, status in answers if end == "another"][:2] == [403, 200]
    await page.wait_for_selector("#line svg")

    services.desk.passphrase = house.PASSPHRASE
    services.clock.set(house.MONDAY_MORNING + timedelta(hours=22))
    await press(page, "a")
    await page.locator("#notice", has_text="This stage’s day is over.").wait_for()
