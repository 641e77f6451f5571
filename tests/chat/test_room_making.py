"""Pages that wait for what is made in the background: how far it is, and why it failed."""

from datetime import time

import pytest

from bot.activities.story_run import Venue
from bot.service.makings import Made
from bot.service.story_wish import StoryWish, wish_json
from tests.chat import house
from tests.fakes.clock import FakeClock
from tests.fakes.drawn import open_services

PAGE = "/desk/choir/c1/story"
BEGIN = {"venue": "class", "closes": "20:00", "quorum": "5"}


@pytest.fixture
async def services(tmp_path):
    async with open_services(tmp_path, FakeClock(house.MONDAY_MORNING)) as found:
        await found.choirs.add(house.a_choir())
        yield found


async def _page(visitor):
    return await (await visitor.get(PAGE)).text()


async def test_a_story_is_answered_at_once_and_said_to_be_on_its_way(visitor, services):
    story_id = next(iter(services.content.stories))
    answer = await visitor.post(f"{PAGE}/begin", {"story": story_id, **BEGIN})
    assert (answer.status, answer.headers["Location"]) == (303, PAGE)
    page = await _page(visitor)
    assert f'data-making="{PAGE}"' in page
    assert "It is next in line." in page
    assert f'<noscript><meta http-equiv="refresh" content="4; url={PAGE}"></noscript>' in page
    assert 'name="story"' not in page
    again = await visitor.post(f"{PAGE}/begin", {"story": story_id, **BEGIN})
    assert again.status == 303


async def test_what_can_be_refused_at_once_is(visitor, services):
    answer = await visitor.post(f"{PAGE}/begin", {"story": "nowhere", **BEGIN})
    assert answer.status == 409
    assert "no such story" in await answer.text()
    assert await services.makings.of("c1", Made.STORY) is None


async def test_why_it_failed_stands_on_its_page_and_on_the_status_page(visitor, services):
    wish = StoryWish(story_id="went", venue=Venue.CLASS, closes=time(20), quorum=1)
    await services.makings.ask("c1", Made.STORY, wish_json(wish))
    assert ">went</h2>" in await _page(visitor)
    await services.makings.round()
    page = await _page(visitor)
    assert "It could not be made:" in page
    assert "no such story" in page
    assert 'name="story"' in page
    assert "no such story" in await (await visitor.get("/desk/status")).text()
