"""What a choir takes away from the desk, over the real service."""

from datetime import timedelta

import pypdfium2
import pytest

from bot.activities.calendar import Meeting, Weekdays
from bot.activities.choir import Hearing, Steps
from tests.chat import house
from tests.fakes.clock import FakeClock
from tests.fakes.drawn import open_services


@pytest.fixture
async def services(tmp_path):
    """One choir in one part that meets on Mondays and Tuesdays."""
    async with open_services(tmp_path, FakeClock(house.MONDAY_MORNING)) as found:
        choir = house.a_choir(steps=Steps(pitch="p05", rhythm="r04"), hearing=Hearing.NEVER)
        meeting = Meeting(pattern=Weekdays(days=frozenset({0, 1})))
        await found.choirs.add(house.replace(choir, voices=choir.voices[:1], meeting=meeting))
        yield found


async def _text(response, status=200) -> str:
    text = await response.text()
    assert response.status == status, text
    return text


async def test_the_choirs_page_leads_to_this_weeks_files(visitor):
    page = await _text(await visitor.get("/desk/choir/c1"))

    for kind in ("take-home.html", "take-home.pdf", "take-home-large.pdf", "paper"):
        assert f'href="/desk/choir/c1/{kind}"' in page


async def test_the_week_comes_as_a_file_of_its_own(visitor):
    response = await visitor.get("/desk/choir/c1/take-home.html")

    text = await _text(response)
    assert response.headers["Content-Disposition"] == (
        'attachment; filename="take-home-2025-11-24.html"'
    )
    assert "default-src 'none'" in response.headers["Content-Security-Policy"]
    assert text.count("<article") == 2
    assert "Monday, November 24" in text


async def test_one_reading_comes_as_a_file_of_its_own(visitor):
    page = await _text(await visitor.get("/desk/choir/c1"))
    address = "/desk/choir/c1/day/2025-11-25/take-home"
    for kind in (".html", ".pdf", "-large.pdf"):
        assert f'href="{address}{kind}"' in page

    response = await visitor.get(f"{address}.html")

    text = await _text(response)
    assert response.headers["Content-Disposition"] == (
        'attachment; filename="take-home-2025-11-25.html"'
    )
    assert text.count("<article") == 1
    assert "Tuesday, November 25" in text
    assert "Monday, November 24" not in text
    printed = pypdfium2.PdfDocument(await (await visitor.get(f"{address}.pdf")).read())
    assert "Tuesday, November 25" in printed[0].get_textpage().get_text_range()
    printed.close()


async def test_a_day_without_a_reading_says_so_and_one_that_is_none_is_not_found(visitor):
    page = await _text(await visitor.get("/desk/choir/c1/day/2025-11-26/take-home.html"), 409)
    assert "there is nothing to read" in page
    assert (await visitor.get("/desk/choir/c1/day/2025-13-26/take-home.html")).status == 404


@pytest.mark.parametrize("size", ["", "-large"])
async def test_the_week_can_be_printed(visitor, size):
    response = await visitor.get(f"/desk/choir/c1/take-home{size}.pdf?week=2025-12-03")

    document = pypdfium2.PdfDocument(await response.read())
    texts = [page.get_textpage().get_text_range() for page in document]
    document.close()
    assert response.content_type == "application/pdf"
    assert "Monday, December 1" in texts[0]
    assert any("How we read" in text for text in texts)


@pytest.mark.parametrize("path", ["take-home.html?week=soon", "take-home.txt", "substitute.png"])
async def test_an_address_that_makes_no_sense_is_not_there(visitor, path):
    assert (await visitor.get(f"/desk/choir/c1/{path}")).status == 404


async def test_a_week_without_readings_says_so_on_the_page(visitor):
    page = await _text(await visitor.get("/desk/choir/c1/take-home.html?week=2025-07-07"), 409)
    assert "there is nothing to read" in page
    assert 'role="alert"' in page


async def test_files_are_behind_the_desks_lock(visitor, services):
    await services.desk.set_passphrase(house.PASSPHRASE)
    assert (await visitor.get("/desk/choir/c1/take-home.html")).status == 401
    assert (await visitor.get("/desk/choir/c1/substitute.pdf")).status == 401


async def test_a_folder_is_drawn_handed_out_and_read_sheet_by_sheet(visitor, services):
    assert "No folder is drawn yet." in await _text(await visitor.get("/desk/choir/c1/paper"))

    text = await _text(await visitor.get("/desk/choir/c1/substitute.html"))
    page = await _text(await visitor.get("/desk/choir/c1/paper"))
    assert text.count("<article") == 5
    assert page.count("Not read yet.") == 5

    response = await visitor.post("/desk/choir/c1/paper/2/read")
    assert response.headers["Location"] == "/desk/choir/c1/paper#substitute"
    page = await _text(await visitor.get("/desk/choir/c1/paper"))
    assert page.count("Not read yet.") == 4
    assert "Read, noted on Monday, November 24." in page

    await visitor.post("/desk/choir/c1/paper/2/unread")
    page = await _text(await visitor.get("/desk/choir/c1/paper"))
    assert page.count("Not read yet.") == 5


async def test_new_sheets_take_the_place_of_the_old(visitor, services):
    await visitor.post("/desk/choir/c1/paper/draw")
    before = {sheet.reading.id for sheet in await services.papers.subs.sheets("c1")}

    response = await visitor.post("/desk/choir/c1/paper/draw")

    assert response.headers["Location"] == "/desk/choir/c1/paper?done=drawn#substitute"
    after = {sheet.reading.id for sheet in await services.papers.subs.sheets("c1")}
    assert len(after) == 5
    assert not before & after


async def test_sheets_that_the_choir_has_outgrown_are_named(visitor, services):
    await visitor.post("/desk/choir/c1/paper/draw")
    services.clock.set(services.clock.now() + timedelta(days=3))
    choir = await services.choirs.get("c1")
    await services.choirs.change(house.replace(choir, steps=Steps(pitch="p08", rhythm="r06")))

    page = await _text(await visitor.get("/desk/choir/c1/paper"))

    assert "The choir has moved since these were drawn." in page


async def test_a_sheet_that_is_not_there_is_said_on_the_page(visitor):
    page = await _text(await visitor.post("/desk/choir/c1/paper/2/read"), 409)
    assert "There is no such sheet in the folder." in page
