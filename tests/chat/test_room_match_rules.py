"""The rules of a match at the desk: changed choir by choir, shown as a file, taken back."""

import re
from io import BytesIO

import pytest
from aiohttp import FormData
from markupsafe import escape

from tests.chat import house
from tests.fakes.clock import FakeClock
from tests.fakes.drawn import open_services


@pytest.fixture
async def services(tmp_path):
    """Two choirs, without a match."""
    async with open_services(tmp_path, FakeClock(house.MONDAY_MORNING)) as found:
        await found.choirs.add(house.a_choir())
        await found.choirs.add(house.replace(house.a_choir(), id="c2", name="Period 5"))
        yield found


async def test_a_choirs_rules_are_changed_shown_as_a_file_and_taken_back(visitor, services):
    page = await (await visitor.get("/desk/choir/c1/match/rules")).text()
    assert "This choir plays by the usual rules." in page
    assert "Usually Left page." in page
    typed = {"turns": "6", "left": "Window", "study_4": "30", "study_8": "", "stand": "together"}
    answer = await visitor.post("/desk/choir/c1/match/rules", typed)
    assert (answer.status, answer.headers["Location"]) == (
        303,
        "/desk/choir/c1/match/rules?done=kept",
    )
    page = await (await visitor.get("/desk/choir/c1/match/rules?done=kept")).text()
    assert "Kept. The next match" in page
    assert 'value="Window"' in page
    file = await visitor.get("/desk/choir/c1/match/rules.toml")
    text = await file.text()
    assert 'left = "Window"' in text
    assert "study = { 4 = 30 }" in text
    form = await (await visitor.get("/desk/choir/c1/match")).text()
    assert '<option value="6" selected>' in form
    assert "8 measures" not in form
    other = await (await visitor.get("/desk/choir/c2/match/rules")).text()
    assert 'value="Window"' not in other
    answer = await visitor.post("/desk/choir/c1/match/rules/back", {})
    assert answer.status == 303
    page = await (await visitor.get("/desk/choir/c1/match/rules")).text()
    assert 'value="Window"' not in page


async def test_rules_with_faults_come_back_with_all_of_them_and_all_that_was_typed(
    visitor, services
):
    typed = {
        "turns": "many",
        "study_4": "20",
        "throws": "4",
        "left": "By the window",
        "claims": "99",
    }
    answer = await visitor.post("/desk/choir/c1/match/rules", typed)
    page = await answer.text()
    assert answer.status == 422
    assert re.findall(r'id="(\w+)-fault-1"', page) == ["turns", "throws", "claims"]
    for name, text in typed.items():
        assert f'id="{name}" value="{text}"' in page
    assert await services.matches.house.own("c1") is None


def _a_file(text: bytes) -> FormData:
    form = FormData()
    form.add_field("typed", "")
    form.add_field("file", BytesIO(text), filename="rules.toml", content_type="application/toml")
    return form


async def test_a_file_is_kept_whole_or_by_the_lines_that_differ(visitor, services):
    await visitor.post(
        "/desk/choir/c1/match/rules", {"turns": "6", "left": "Window", "study_4": "9"}
    )
    whole = await (await visitor.get("/desk/choir/c1/match/rules.toml")).read()
    answer = await visitor.post("/desk/choir/c2/match/rules/file", _a_file(whole))
    assert answer.status == 303
    assert answer.headers["Location"] == "/desk/choir/c2/match/rules?done=kept"
    assert await services.matches.house.own("c2") == await services.matches.house.own("c1")
    await visitor.post("/desk/choir/c2/match/rules/file", {"typed": 'left = "Door"\nturns = 2'})
    own = await services.matches.house.own("c2")
    assert own == house.replace(services.matches.house.usual, left="Door", turns=2)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ('turns = 99\n\nleft = ""\nthrow = 1', ["rules.toml:1", "rules.toml:3", "rules.toml:4"]),
        ("read = 1", ["the usual rules:"]),  # what is good is then out of reach
        ("turns = = 2", ["rules.toml:1", "no TOML"]),
        ("a = " + "[" * 5000, ["nested too deep"]),
        ("format = 2", ["no format of ours"]),
        ("", ["No file was chosen"]),
    ],
)
async def test_a_file_with_faults_changes_nothing_and_comes_back_with_all_of_them(
    visitor, services, text, told
):
    answer = await visitor.post("/desk/choir/c1/match/rules/file", {"typed": text})
    page = await answer.text()
    assert answer.status == 422
    summary = page[page.index('id="file-faults"') : page.index('class="lead"')]
    assert [part for part in told if part not in summary] == []
    assert escape(text) in page
    assert await services.matches.house.own("c1") is None


@pytest.mark.parametrize("data", [b"\xff\xfe\x00", b"turns = 2\n" * 300_000])
async def test_a_file_that_is_no_text_or_far_too_long_is_refused(visitor, services, data):
    answer = await visitor.post("/desk/choir/c1/match/rules/file", _a_file(data))
    assert answer.status == 422
    assert await services.matches.house.own("c1") is None
