"""Partner lines at the desk: asked for, looked at, heard, put on a day, read on the stage."""

import json
import re
from html import unescape

import pytest

from bot.activities.choir import Steps
from bot.chat.room import partner_routes
from bot.service.makings import Made
from tests.chat import house
from tests.fakes.clock import FakeClock
from tests.fakes.drawn import open_services

PAGE = "/desk/choir/c1/partners"
WISH = {"lines": "2", "measures": "4", "step_pitch": "p03", "step_rhythm": "r01"}


@pytest.fixture
async def services(tmp_path):
    """A choir of trebles and baritones."""
    async with open_services(tmp_path, FakeClock(house.MONDAY_MORNING)) as found:
        choir = house.a_choir(steps=Steps(pitch="p03"))
        await found.choirs.add(house.replace(choir, voices=choir.voices[::2]))
        yield found


async def _text(visitor, path=PAGE):
    return await (await visitor.get(path)).text()


async def _composed(visitor, services):
    answer = await visitor.post(PAGE, WISH)
    assert (answer.status, answer.headers["Location"]) == (303, PAGE)
    assert f'data-making="{PAGE}"' in await _text(visitor)
    await services.makings.round()
    page = await _text(visitor)
    return page, re.search(r'name="set" value="(\w+)"', page)[1]


async def test_a_set_is_looked_at_heard_and_read_line_by_line(visitor, services):
    page, kept = await _composed(visitor, services)
    assert re.findall(r'<h3 id="p-([-1-4]+)">', page) == ["1", "2", "1-2"]
    assert "strong beats" in page
    for address in ("1/picture.svg", "1-2/picture.svg", "1-2/phone.svg"):
        answer = await visitor.get(f"{PAGE}/{address}?set={kept}")
        assert (answer.status, answer.content_type) == (200, "image/svg+xml")
    sounds = [
        await (await visitor.get(f"{PAGE}/{lines}/sound.mp3?set={kept}")).read()
        for lines in ("1", "2", "1-2")
    ]
    assert len({*sounds}) == 3
    for address in (f"1/picture.svg?set=x{kept}", f"1-3/picture.svg?set={kept}", "1/picture.svg"):
        assert (await visitor.get(f"{PAGE}/{address}")).status == 404

    on = re.search(r'<option value="(2025-[-\d]+)"', page)[1]
    answer = await visitor.post(f"{PAGE}/use", {"set": kept, "lines": "1-2", "on": on})
    assert answer.headers["Location"] == "/desk/choir/c1?done=partners"
    week = await _text(visitor, answer.headers["Location"])
    assert "W reads them line by line" in week
    assert "Partner lines 1 and 2" in week
    card = await services.readings.preview("c1", house.date.fromisoformat(on))
    stage = await _text(visitor, f"/stage/c1?reading={card.reading_id}&way=line-by-line")
    score = json.loads(unescape(re.search(r'data-score="([^"]*)"', stage)[1]))
    assert (score["pulses"], len(score["words"]["way"]["turns"])) == (48, 3)
    assert 'data-way="line-by-line"' in stage
    assert "For Part I" not in week  # no word of an easier line: both are the class's


async def test_a_form_that_is_out_of_date_or_wrong_is_answered_in_words(visitor, services):
    for change, told in (({"lines": "9"}, "2 to 4 lines"), ({"step_pitch": "p99"}, "p99")):
        answer = await visitor.post(PAGE, WISH | change)
        assert answer.status == 422
        assert told in await answer.text()
    assert await services.makings.of("c1", Made.PARTNERS) is None
    page, kept = await _composed(visitor, services)
    on = re.search(r'<option value="(2025-[-\d]+)"', page)[1]
    answer = await visitor.post(f"{PAGE}/use", {"set": "old", "lines": "1", "on": on})
    assert answer.status == 409
    assert "Another set was composed meanwhile" in await answer.text()
    for wrong in ({"lines": "one"}, {"on": "someday"}):
        wish = {"set": kept, "lines": "1", "on": on} | wrong
        assert (await visitor.post(f"{PAGE}/use", wish)).status == 404


async def test_a_line_that_is_read_alone_has_no_line_by_line(visitor, services):
    _, kept = await _composed(visitor, services)
    on = "2025-11-25"
    await visitor.post(f"{PAGE}/use", {"set": kept, "lines": "2", "on": on})
    card = await services.readings.preview("c1", house.date.fromisoformat(on))
    stage = await visitor.get(f"/stage/c1?reading={card.reading_id}")
    assert 'data-way="line-by-line"' not in await stage.text()
    refused = await visitor.get(f"/stage/c1?reading={card.reading_id}&way=line-by-line")
    assert refused.status == 409
    assert "This reading has one line" in await refused.text()


async def test_all_of_it_is_locked_and_no_other_site_asks_for_anything(visitor, services):
    sent = {"headers": {"Origin": "https://elsewhere.example"}}
    for address in (PAGE, f"{PAGE}/use"):
        assert (await visitor.post(address, WISH, **sent)).status == 403
    page = await visitor.get(PAGE)
    assert re.findall(r"<script(?![^>]*\bsrc=)|<style|\sstyle=", await page.text()) == []
    await services.desk.set_passphrase(house.PASSPHRASE)
    asked = {*partner_routes.DESK_PAGES, *partner_routes.DESK_CHANGES}
    assert {path.partition("/partners")[1] for path, _ in asked} == {"/partners"}
    for address in (PAGE, f"{PAGE}/1-2/picture.svg", f"{PAGE}/1/sound.mp3"):
        assert (await visitor.get(address)).status == 401
    for address in (PAGE, f"{PAGE}/use"):
        assert (await visitor.post(address, WISH)).status == 401
    assert await services.makings.of("c1", Made.PARTNERS) is None
