"""A mystery tune on the stage by a clicker alone: it sounds only once it was told."""

import pytest

from bot.activities.choir import Steps
from bot.chat.room.server import Room, RoomOptions
from bot.media.request import EngravingRequest
from tests.chat import house
from tests.fakes.choirs import a_choir
from tests.fakes.clock import FakeClock
from tests.fakes.world import NINE, open_world
from tests.system.waiting import until

pytestmark = pytest.mark.browser

SHAPE = b"""<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 900 300"><g
 transform="translate(0,0)"><path d="M0 0 L9 9"/></g></svg>"""


@pytest.fixture
async def url(tmp_path):
    async with open_world(tmp_path, FakeClock(NINE)) as world:
        world.media.get_or_make = _drawn
        await world.services.choirs.add(a_choir(steps=Steps(pitch="p14", rhythm="r11")))
        room = Room(world.services, RoomOptions(port=0))
        await room.start()
        yield room.url
        await room.stop()


async def _drawn(request):
    return SHAPE if isinstance(request, EngravingRequest) else house.sound()


async def test_the_list_of_ways_leads_to_a_tune_and_a_clicker_through_it(open_page, url):
    page = await open_page(width=1920, height=1080)
    sounds = []
    page.on("request", lambda request: sounds.append(request.url.rpartition("/")[2][:9]))
    await page.goto(url + "stage/choir-1")
    await page.wait_for_selector("#line svg")
    await page.keyboard.press("w")
    await page.keyboard.press("ArrowUp")
    await page.keyboard.press("ArrowUp")
    assert await page.locator("#ways .marked").get_attribute("data-way") == "tune"
    await page.keyboard.press("PageDown")
    await page.wait_for_url("**/stage/choir-1/tune?reading=*")
    await page.wait_for_selector("#line svg")
    sounds.clear()
    seen = []
    for _ in range(5):
        await page.keyboard.press("PageDown")
        seen.append(await page.evaluate("document.body.dataset.stop"))
        if seen[-1] == "name":
            assert await page.locator("#names li").count() == 4
            assert not any(sound.startswith("line.mp3") for sound in sounds)
    assert seen == ["key", "start", "inward", "name", "told"]
    await until(page, "document.querySelector('.tune-now').classList.contains('told')")
    assert len(await page.locator("#hint").inner_text()) > 60
    assert any(sound.startswith("line.mp3") for sound in sounds)
    lowest = await page.locator("#hint").bounding_box()
    assert lowest["y"] + lowest["height"] <= 1080
    await page.locator("#notice", has_text="The next press leads back").wait_for()
    await page.keyboard.press("PageDown")
    await page.wait_for_url("**/stage/choir-1")
