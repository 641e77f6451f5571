"""The plan at the desk: a month in one form, kept as a whole or refused with a sentence."""

import re

import pytest

from bot.activities.choir import Steps
from bot.activities.rotation import Kind
from tests.chat import house
from tests.fakes.clock import FakeClock
from tests.fakes.drawn import open_services


@pytest.fixture
async def services(tmp_path):
    """One choir of one part that reads lines of four and eight measures."""
    async with open_services(tmp_path, FakeClock(house.MONDAY_MORNING)) as found:
        choir = house.a_choir(steps=Steps(pitch="p04", rhythm="r02"))
        await found.choirs.add(house.replace(choir, voices=choir.voices[:1]))
        yield found


async def the_form(visitor, path="/desk/choir/c1/plan"):
    page = await (await visitor.get(path)).text()
    chosen = dict(
        re.findall(
            r'<select name="(day-[\d-]+)".*?<option value="([a-z-]+)" selected>', page, re.DOTALL
        )
    )
    return page, chosen


async def test_a_month_is_proposed_kept_and_proposed_afresh(visitor, services):
    page, form = await the_form(visitor)
    assert "The plan for November 2025" in page
    assert len(form) == 5
    assert "new to this choir" in page
    assert "Propose afresh" not in page

    answer = await visitor.post("/desk/choir/c1/plan", form)

    assert answer.headers["Location"] == "/desk/choir/c1/plan?of=2025-11&done=kept"
    page, again = await the_form(visitor, answer.headers["Location"])
    assert again == form
    assert "The plan is kept." in page
    assert page.count("as you kept it") == 5
    await visitor.post("/desk/choir/c1/plan/again?of=2025-11")
    page, _ = await the_form(visitor)
    assert "as you kept it" not in page


async def test_the_plan_leads_to_lines_month_substitute_and_take_home(visitor):
    page, _ = await the_form(visitor, "/desk/choir/c1/plan?of=2025-12")
    for path in ("month?of=2025-12", "paper", "take-home.html"):
        assert f'href="/desk/choir/c1/{path}"' in page
    assert "/desk/choir/c1/day/2025-12-01/phone.svg" in page
    for monday in ("2025-12-01", "2025-12-08", "2025-12-29"):
        assert f'href="/desk/choir/c1/take-home.html?week={monday}"' in page
    week = await (await visitor.get("/desk/choir/c1")).text()
    assert 'href="/desk/choir/c1/plan"' in week


async def test_a_day_with_a_mystery_tune_begins_one_and_goes_to_the_stage(visitor, services):
    await services.plans.keep("c1", {house.MONDAY: Kind.MYSTERY_TUNE})
    page, _ = await the_form(visitor)
    assert 'form="begin-tune">Open on the stage</button>' in page

    answer = await visitor.post("/desk/choir/c1/plan/tune")

    assert answer.headers["Location"].startswith("/stage/c1/tune?reading=")
    stage = await visitor.get(answer.headers["Location"])
    assert stage.status == 200
    assert "Nobody sings it yet." in await stage.text()


async def test_too_much_play_comes_back_with_what_was_chosen(visitor, services):
    _, form = await the_form(visitor, "/desk/choir/c1/plan?of=2025-12")
    days = sorted(form)[:3]
    wish = form | dict.fromkeys(days, "match")
    answer = await visitor.post("/desk/choir/c1/plan", wish)
    text = await answer.text()
    assert answer.status == 409
    assert "2 are playful at most; from Mon, Dec 1" in text
    assert re.findall(rf'id="{days[0]}">.*?<option value="([a-z-]+)" selected', text)[0] == "match"
    assert (await services.plans.month("c1", house.date(2025, 12, 1))).days[0].kind is Kind.CARD


@pytest.mark.parametrize("fields", [{"day-x": "card"}, {"day-2025-12-01": "dance"}])
async def test_what_is_no_plan_is_none(visitor, fields):
    assert (await visitor.post("/desk/choir/c1/plan", fields)).status == 400


@pytest.mark.parametrize("of", ["2025", "2025-13", "0001-01", "x"])
async def test_what_is_no_month_is_not_found(visitor, of):
    assert (await visitor.get(f"/desk/choir/c1/plan?of={of}")).status == 404


async def test_today_leads_to_the_stage_in_its_own_way(visitor, services):
    for kind, path in (
        (Kind.RHYTHM_ONLY, "/stage/c1?way=rhythm-only"),
        (Kind.MATCH, "/desk/choir/c1/match"),
        (Kind.CARD, "/stage/c1"),
    ):
        await services.plans.keep("c1", {house.MONDAY: kind})
        page, _ = await the_form(visitor)
        assert f'<a href="{path}">Open on the stage</a>' in page


async def test_a_story_leads_to_its_desk(visitor, services):
    await services.plans.keep("c1", {house.MONDAY: Kind.STORY})
    page, _ = await the_form(visitor)
    assert 'href="/desk/choir/c1/story">Open on the stage' in page


async def test_the_desk_says_first_what_today_reads(visitor, services):
    await services.plans.keep("c1", {house.MONDAY: Kind.RETROGRADE})
    page = await (await visitor.get("/desk")).text()
    assert "Today: From the right, 8 minutes (as you kept it)" in page
    services.clock.set(house.MONDAY_MORNING + house.timedelta(days=5))
    assert "Today:" not in await (await visitor.get("/desk")).text()
