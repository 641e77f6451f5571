"""The director's side of seats: slips, the stage that shows none, notices, files, the approval."""

import re
from datetime import datetime

from bot.chat.room.server import Room, RoomOptions
from bot.store.approvals import add_draft
from tests.chat.seated_room import room, singer, sit, slips, visit, world
from tests.privacy.sheets import a_sheet, written

__all__ = ["room", "singer", "slips", "visit", "world"]


async def test_the_slips_are_shown_once_with_the_address_and_no_square_before_a_url(visit, room):
    director = visit(room)

    answer = await director.post("/desk/choir/choir-1/seats", {"count": "5"})
    page = await answer.text()

    assert len(re.findall(r"[0-9A-Z]{4}-[0-9A-Z]{4}", page)) == 2
    assert f"{room.url}seat" in page
    assert 'class="qr"' not in page
    assert answer.headers["Cache-Control"] == "no-store"
    again = await director.post("/desk/choir/choir-1/seats", {"count": "5"})
    assert again.status == 409
    assert not re.search(r"[0-9A-Z]{4}-[0-9A-Z]{4}", await again.text())


async def test_a_new_slip_takes_one_press(visit, room, singer, slips):
    director = visit(room)

    page = await (await director.post("/desk/choir/choir-1/seats/1/slip")).text()

    (fresh,) = re.findall(r"[0-9A-Z]{4}-[0-9A-Z]{4}", page)
    assert (await sit(singer, slips[0].code)).status == 403
    assert (await sit(singer, fresh)).status == 303


async def test_no_code_is_ever_on_the_stage_or_the_board(visit, room, slips):
    anybody = visit(room)

    pages = [await (await anybody.get(path)).text() for path in ("/stage/choir-1", "/", "/notice")]

    for slip in slips:
        assert not [page for page in pages if slip.code in page]


async def test_without_an_approval_the_board_says_nothing_of_seats(world, visit, room):
    await world.services.seating.approvals.take_away("sheet-1")
    anybody = visit(room)

    board = await (await anybody.get("/")).text()

    assert "/seat" not in board
    assert "Nothing about any singer is kept" in await (await anybody.get("/notice")).text()


async def test_an_approval_that_ends_closes_the_page_the_same_minute(world, singer, slips):
    await sit(singer, slips[0].code, remember="yes")
    world.clock.set(datetime.fromisoformat("2027-02-01T00:00:00-05:00"))

    assert "Take your seat" in await (await singer.get("/seat")).text()


async def test_the_notice_prints_what_the_sheet_allows_and_whom_to_ask(visit, room):
    page = await (await visit(room).get("/notice")).text()

    assert "Lindenfield Middle School" in page
    assert "the school office" in page
    assert "The code on the slip" in page
    keeping = await (await visit(room).get("/notice/keeping")).text()
    assert "seat_codes.code_tag" in keeping
    assert "class_counts.amount" in keeping


async def test_an_export_and_a_copy_come_as_files(visit, room):
    director = visit(room)

    for path, kind in (("export", "application/json"), ("seats/1/copy", "text/html")):
        answer = await director.post(f"/desk/choir/choir-1/{path}")
        assert answer.headers["Content-Disposition"].startswith("attachment; filename=")
        assert answer.content_type == kind
    copy = await answer.text()
    assert "All that is kept about seat 1" in copy
    assert "src=" not in copy and "href=" not in copy


async def test_a_script_in_a_field_of_the_approval_stays_words(world, visit, room):
    director = visit(room)
    nasty = "<script>alert(1)</script>"
    form = {
        "school": nasty, "country": "US", "choirs": "choir-1", "approver_role": "principal",
        "consent_basis": "school_official", "families_told_on": "2026-09-01",
        "approved_on": "2026-09-01", "valid_from": "2026-09-01", "term_ends_on": "2026-12-01",
        "expires_on": "2026-12-01", "activities": "taps", "transport": "loopback_only",
        "surfaces": "room",
        "most_seats": "9", "least_in_class": "5", "after_term": "30",
        "rights_contact": nasty, "breach_contact": nasty,
    }  # fmt: skip

    made = await director.post("/desk/approvals/new", form)
    pages = [
        await (await director.get(path)).text()
        for path in (made.headers["Location"], "/desk/approvals")
    ]

    assert made.status == 303
    assert not [page for page in pages if nasty in page]
    assert all("&lt;script&gt;" in page for page in pages)


async def test_a_wrong_number_from_the_print_is_refused_on_the_page(visit, room, world):
    async with world.database.transaction() as change:
        await add_draft(change, "draft", written(a_sheet(sheet_id="draft")))

    answer = await visit(room).post("/desk/approvals/draft/confirm", {"hash": "0" * 16})

    assert answer.status == 422
    assert "not the number on this sheet" in await answer.text()
    unknown = await visit(room).post("/desk/approvals/none/confirm", {"hash": "0" * 16})
    assert unknown.status == 404


async def test_with_a_url_each_slip_has_a_square_with_its_code_behind_the_hash(world, visit, slips):
    proxied = Room(world.services, RoomOptions(port=0, public_url="https://choir.example.org"))
    await proxied.start()
    local = visit(proxied)
    await world.services.desk.set_passphrase("cabbage violet ladder nineteen")
    at = f"http://127.0.0.1:{proxied._parts.address.port}"
    headers = {"Host": "choir.example.org", "Origin": "https://choir.example.org"}
    signed = await local.session.post(
        f"{at}/desk/sign-in", headers=headers, allow_redirects=False,
        data={"passphrase": "cabbage violet ladder nineteen", "next": "/desk"},
    )  # fmt: skip
    cookie = signed.headers["Set-Cookie"].partition(";")[0]
    answer = await local.session.post(
        f"{at}/desk/choir/choir-1/seats/1/slip",
        headers={**headers, "Cookie": cookie},
        data={"x": ""},
    )
    page = await answer.text()
    await proxied.stop()

    assert page.count('class="qr"') == 1
    assert "https://choir.example.org/seat" in page
    assert "Your seat is at <span>" in page
    assert "at this computer alone" not in page


async def test_slips_for_this_computer_alone_say_so(visit, room, slips):
    page = await (await visit(room).post("/desk/choir/choir-1/slips", {"x": ""})).text()
    assert page.count("Your seat is at the choir’s own computer: <span>http://127.0.0.1") == len(
        slips
    )
    assert "take their seats here and not at home" in page


async def test_seats_of_a_broken_database_come_back_in_one_press(world, visit, room, singer, slips):
    await world.services.seating.keeper.round()
    async with world.database.transaction() as change:  # the disk lost them; nobody erased them
        await change.delete("seats", {"choir_id": "choir-1"})
    director = visit(room)
    page = await (await director.get("/desk/choir/choir-1/seats")).text()
    assert "The seats as they were on Monday, September 14 are still here" in page

    answer = await director.post("/desk/choir/choir-1/seats/back")

    assert answer.headers["Location"] == "/desk/choir/choir-1/seats?done=brought-back"
    page = await (await director.get(answer.headers["Location"])).text()
    assert "The seats are back." in page
    assert "are still here" not in page
    assert (await sit(singer, slips[0].code)).status == 303
    again = await director.post("/desk/choir/choir-1/seats/back")
    assert again.status == 409
    assert "There are no seats to bring back." in await again.text()
