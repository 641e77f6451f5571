"""The pace at the desk: proposals in words with their figures, and one click that decides."""

import pytest

from bot.activities.choir import Steps
from bot.activities.match_call import Call
from bot.activities.match_sides import Heads
from bot.service.match_values import MatchWish
from tests.chat import house
from tests.fakes.clock import FakeClock
from tests.fakes.drawn import open_services
from tests.system.test_access import violations


@pytest.fixture
async def services(tmp_path):
    """A choir of one part at its fourth step."""
    async with open_services(tmp_path, FakeClock(house.MONDAY_MORNING)) as found:
        choir = house.a_choir(steps=Steps(pitch="p04", rhythm="r02"))
        await found.choirs.add(house.replace(choir, voices=choir.voices[:1]))
        yield found


async def four_good_matches(services):
    """Four days with a match that was read well."""
    wish = MatchWish(heads=(Heads(label="Part I", count=8),), measures=4, turns=1)
    for day in range(4):
        match_id = await services.matches.set_up("c1", wish)
        for seen, text in enumerate(("study", "read", "phrase-2", "phrase-2")):
            await services.matches.call(match_id, Call.parse(text), seen)
        services.clock.set(house.MONDAY_MORNING + house.timedelta(days=day + 1))


async def test_where_nothing_is_known_all_tracks_stay_and_say_so(visitor):
    page = await (await visitor.get("/desk/choir/c1/pace")).text()
    assert page.count("<strong>Stay</strong>, too little is known yet") == 3
    untold = "Since the choir last moved, nobody has said how it went."
    assert page.count(f"0 reading days at this step. {untold}") == 3
    assert '<form method="post" action="/desk/choir/c1/pace"' not in page


async def test_one_click_takes_what_is_proposed(visitor, services):
    await four_good_matches(services)
    page = await (await visitor.get("/desk/choir/c1/pace")).text()
    assert "<strong>Go on</strong>, it is read securely." in page
    assert "4 reading days at this step. After 4 of the latest the class or you said" in page
    assert "100 % steady at least, 0 % not yet; slips heard in matches: 0." in page
    assert 'name="to" value="p05"' in page

    answer = await visitor.post("/desk/choir/c1/pace", {"track": "pitch", "to": "p05"})

    assert answer.status == 303
    assert (await services.choirs.get("c1")).steps.pitch == "p05"
    page = await (await visitor.get(answer.headers["Location"])).text()
    assert "The next lines are drawn for it." in page


@pytest.mark.parametrize(
    ("fields", "status"),
    [({"track": "pitch", "to": "p09"}, 409), ({"track": "tempo", "to": "p05"}, 400)],
)
async def test_no_other_step_is_taken(visitor, services, fields, status):
    assert (await visitor.post("/desk/choir/c1/pace", fields)).status == status
    assert (await services.choirs.get("c1")).steps.pitch == "p04"


async def test_an_order_of_steps_that_is_gone_is_told(visitor, services):
    choir = await services.choirs.get("c1")
    await services.choirs.change(house.replace(choir, steps=Steps(sequence="gone")))
    page = await (await visitor.get("/desk/choir/c1/pace")).text()
    assert "nothing can be proposed" in page


@pytest.mark.browser
async def test_the_page_has_no_fault_that_axe_core_knows(open_page, services, room):
    await four_good_matches(services)
    for width, scheme in ((360, "dark"), (1280, "light")):
        page = await open_page(width=width, height=800, color_scheme=scheme)
        await page.goto(room.url + "desk/choir/c1/pace")
        assert await violations(page) == []
        assert await page.evaluate("document.documentElement.scrollWidth <= innerWidth")
