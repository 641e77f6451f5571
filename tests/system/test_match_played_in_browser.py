"""A match as a director plays it: the draw in sight, by keyboard, over ends and deaths."""

import pytest

from bot.activities.choir import Steps
from bot.activities.match_rules import Rules
from bot.activities.match_sides import Heads
from bot.chat.room.server import Room, RoomOptions
from bot.service.match_rules_form import rules_fields
from tests.chat import house
from tests.fakes.clock import FakeClock
from tests.fakes.drawn import open_services
from tests.fakes.matches import plant_match
from tests.system.test_match_in_browser import board, figures, phone, press, stop_of
from tests.system.waiting import until

pytestmark = pytest.mark.browser


@pytest.fixture
async def services(tmp_path):
    """A choir with a match of one turn a side that is not begun."""
    async with open_services(tmp_path, FakeClock(house.MONDAY_MORNING)) as found:
        choir = house.a_choir(steps=Steps(pitch="p05", rhythm="r05"))
        await found.choirs.add(house.replace(choir, voices=choir.voices[:1]))
        await plant_match(found.desk._database, Rules(), choir_id="c1", on=house.MONDAY)
        yield found


async def test_the_draw_stands_on_the_board_until_the_first_call(open_page, services, room):
    stage = await board(open_page, room)
    sides = [await stage.locator(f"#{side} .leaf-draw").inner_text() for side in ("left", "right")]
    assert all(text.startswith("Part I: ") for text in sides)
    assert not await stage.locator("#left .figure").is_visible()
    assert await stage.locator("#heading").inner_text() == "Count off, and find your page"
    await press(stage, "PageDown", "PageDown", "2", "2", "PageDown", "0")
    assert not await stage.locator("#left .leaf-draw").is_visible()
    assert await stage.locator("#left .figure").is_visible()
    await press(stage, *["PageUp"] * 6)
    assert await stage.locator("#left .leaf-draw").is_visible()


async def test_an_end_is_taken_back_after_the_page_was_loaded_again(open_page, services, room):
    stage = await board(open_page, room)
    turn = ("PageDown", "PageDown", "2", "2", "PageDown", "1")
    await press(stage, *turn, *turn, "PageDown", "PageDown", "2", "1")
    assert await stop_of(stage) == "done"
    assert await figures(stage) == ["8", "8"]
    await stage.reload()
    await until(stage, "document.body.dataset.stop === 'done'")
    referee = await phone(open_page, room)
    await referee.get_by_role("button", name="Undo").click()
    await until(stage, "document.body.dataset.stop === 'reading'")
    assert await figures(stage) == ["7", "7"]
    await referee.get_by_role("button", name="Read", exact=True).click()
    await until(stage, "document.body.dataset.stop === 'done'")
    assert await figures(stage) == ["9", "9"]


async def test_the_referees_page_is_played_by_keyboard_alone(open_page, services, room):
    referee = await phone(open_page, room)
    await referee.keyboard.press("Tab")
    for _ in range(40):
        if await stop_of(referee) == "done":
            break
        assert await referee.evaluate("document.activeElement.closest('#offers') !== null")
        await press(referee, "Enter")
    assert await stop_of(referee) == "done"
    # Nothing is left but to take the last call back, and there the keyboard is.
    assert await referee.evaluate("document.activeElement.id") == "undo"
    await press(referee, "Enter", "Enter")
    assert await stop_of(referee) == "reading"
    assert await referee.evaluate("document.activeElement.id") == "undo"


@pytest.mark.long
async def test_a_button_stands_where_the_one_before_it_stood(open_page, services, room):
    """A heading of two lines does not push what the thumb is about to press."""
    referee = await phone(open_page, room)
    tops, covered = set(), []
    for _ in range(40):
        if await stop_of(referee) == "done":
            break
        first = referee.locator("#offers button").first
        tops.add((await first.bounding_box())["y"])
        covered.append(
            await referee.evaluate(
                """() => {
                  const foot = document.querySelector('.foot').getBoundingClientRect().top;
                  const offers = [...document.querySelectorAll('#offers button')];
                  return offers.some(b => b.getBoundingClientRect().bottom > foot);
                }"""
            )
        )
        before = int(await referee.evaluate("document.body.dataset.revision"))
        await first.click()
        await until(referee, f"Number(document.body.dataset.revision) > {before}")
    assert len(tops) == 1
    assert not any(covered)


@pytest.mark.long
async def test_the_room_dies_and_comes_back_and_the_match_goes_on(open_page, services, room):
    stage = await board(open_page, room)
    await press(stage, "PageDown", "PageDown", "2")
    address, port = room.url, int(room.url.rsplit(":", 1)[1].strip("/"))
    await room.stop()
    await stage.keyboard.press("2")
    await stage.get_by_text("The room does not answer.").wait_for()
    again = Room(services, RoomOptions(port=port))
    await again.start()
    try:
        assert again.url == address
        await stage.keyboard.press("2")
        await until(stage, "document.getElementById('notice').textContent !== ''")
        await stage.reload()
        await until(stage, "document.body.dataset.stop === 'reading'")
        await press(stage, "2")
        assert await stop_of(stage) == "listen"
    finally:
        await again.stop()


@pytest.mark.long
@pytest.mark.parametrize(("width", "height"), [(1920, 1080), (1280, 720)])
async def test_long_names_and_many_throws_stay_on_the_board(
    open_page, services, room, width, height
):
    names = {"left": ["Near the windows"], "right": ["Beside the doors"]}
    more = {"read": ["5"], "throws": ["5"], "group_most": ["9"], "group_least": ["3"]}
    rules = await services.matches.house.keep("c1", rules_fields(Rules()) | names | more)
    database = services.desk._database
    heads = Heads(label="Part I", count=36)
    await plant_match(database, rules, 2, choir_id="c1", on=house.MONDAY, heads=heads)
    stage = await board(open_page, room, width, height)
    for keys in ((), ("PageDown", "PageDown"), ("2", "2"), ("PageDown",)):
        await press(stage, *keys)
        out = await stage.evaluate(
            """() => ['heading', 'hint', 'choices', 'left', 'right'].flatMap(id =>
              [document.getElementById(id), ...document.getElementById(id).querySelectorAll('*')]
                .filter(e => e.checkVisibility({ visibilityProperty: true }))
                .filter(e => e.getBoundingClientRect().right > innerWidth + 1)
                .map(e => id + ' ' + e.textContent))"""
        )
        assert out == []
        overlap = await stage.evaluate(
            """() => {
              const box = (e) => { const range = document.createRange();
                range.selectNodeContents(e); return range.getBoundingClientRect(); };
              const seen = (e) => e.textContent && e.checkVisibility({ visibilityProperty: true });
              const words = [...document.querySelector('.stage-words').children].filter(seen);
              const choices = [...document.querySelectorAll('#choices li, #beats li')].filter(seen);
              return words.map(box).some((one) => choices.map(box).some((other) =>
                other.left < one.right && other.top < one.bottom && one.top < other.bottom));
            }"""
        )
        assert not overlap
    assert await stop_of(stage) == "toss"
