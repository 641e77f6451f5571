"""The room against abuse: sizes, times, scripts in every text, cookies, addresses."""

import asyncio
import gzip
import io
import json
import logging
import re

import pytest
from aiohttp import FormData

from bot.chat.room import posted, server
from bot.chat.room.safety import Address
from bot.errors import SettingsProblem
from tests.chat import house
from tests.chat.test_room_safety import PAGES

SCRIPT = "\"'><script>alert(1)</script><img src=x onerror=alert(2)>{{7*7}}"


async def test_a_form_that_is_too_large_is_refused(visitor, services):
    response = await visitor.post("/desk/choir/new", {"name": "x" * (posted.FIELDS_LIMIT + 1)})

    assert response.status == 413
    assert len(await services.choirs.all()) == 1


async def test_a_form_with_thousands_of_fields_is_refused(visitor):
    response = await visitor.post("/desk/choir/new", [("voices", "treble")] * 2000)
    assert response.status == 400


async def test_a_body_of_another_kind_is_refused(visitor):
    headers = {"Content-Type": "application/json"}
    response = await visitor.post("/desk/choir/new", json.dumps({"name": "x"}), headers=headers)
    assert response.status == 415


async def test_a_packed_body_is_not_unpacked(visitor, services):
    headers = {
        "Content-Encoding": "gzip",
        "Content-Type": "application/x-www-form-urlencoded",
    }
    body = gzip.compress(b"name=" + b"x" * 10_000_000)

    response = await visitor.post("/desk/choir/new", body, headers=headers)

    assert response.status in (400, 415, 422)
    assert len(await services.choirs.all()) == 1


async def test_a_form_that_trickles_in_is_given_up(visitor, monkeypatch):
    monkeypatch.setattr(posted, "_BODY_TIME_S", 0.2)

    async def trickle():
        yield b"name="
        await asyncio.sleep(1)
        yield b"x"

    headers = {"Content-Type": "application/x-www-form-urlencoded"}
    response = await visitor.post("/desk/choir/new", trickle(), headers=headers)

    assert response.status == 408


async def test_a_connection_that_says_nothing_is_closed(open_room, services, monkeypatch):
    monkeypatch.setattr(server, "_FIRST_REQUEST_S", 0.1)
    room = await open_room(services)
    reader, writer = await asyncio.open_connection(
        "127.0.0.1", int(room.url.rstrip("/").rsplit(":", 1)[1])
    )

    writer.write(b"GET / HTTP/1.1\r\nHo")

    assert await asyncio.wait_for(reader.read(), 3) == b""
    writer.close()


async def test_a_live_board_is_not_closed_for_having_said_all_it_has(
    open_room, services, visit, monkeypatch
):
    monkeypatch.setattr(server, "_FIRST_REQUEST_S", 0.1)
    visitor = visit(await open_room(services))

    async with visitor.session.get(visitor.url + "/choir/c1/live") as stream:
        await stream.content.readuntil(b"\n\n")
        await asyncio.sleep(0.3)
        assert not stream.content.at_eof()


async def test_another_site_cannot_hold_live_boards_open(visitor):
    response = await visitor.get("/choir/c1/live", headers={"Sec-Fetch-Site": "cross-site"})
    assert response.status == 403


async def test_nothing_about_a_visitor_is_logged(visitor, services, caplog):
    caplog.set_level(logging.DEBUG, logger="aiohttp")
    caplog.set_level(logging.DEBUG, logger="bot")
    services.desk.passphrase = house.PASSPHRASE
    await visitor.get("/choir/c1")
    await visitor.sign_in("a wrong passphrase of somebody")
    services.readings.broken = RuntimeError("the engraver fell over")
    await visitor.get("/media/c1-20251124/together/0/picture.svg")

    assert "127.0.0.1" not in caplog.text
    assert "a wrong passphrase" not in caplog.text


async def test_an_error_of_ours_is_a_page_that_tells_nothing_of_the_inside(visitor, services):
    services.readings.broken = RuntimeError("secret state at /home/director")
    response = await visitor.get("/media/c1-20251124/together/0/picture.svg")

    assert response.status == 500
    assert "secret" not in await response.text()
    assert "Traceback" not in await response.text()


async def test_a_script_in_a_choirs_name_is_shown_as_text_on_every_page(open_room, visit, content):
    choir = house.a_choir(name=SCRIPT)
    services = house.services_of(content, choir)
    services.readings.up = [
        house.a_card(choir, house.MONDAY, text=SCRIPT, own_music_title=SCRIPT, key_name=SCRIPT)
    ]
    visitor = visit(await open_room(services))
    pages = [path for path in PAGES if not path.startswith(("/static", "/media"))]

    texts = [await (await visitor.get(path)).text() for path in pages]

    assert any("&lt;script&gt;alert(1)" in text for text in texts)
    assert [path for path, text in zip(pages, texts, strict=True) if _ran(text)] == []


def _ran(text: str) -> bool:
    return "<script>alert" in text or "<img src=x" in text or "49}" in text or ">49<" in text


async def test_a_script_in_any_field_of_the_form_comes_back_as_text(visitor, services):
    page = await (await visitor.get("/desk/choir/new")).text()
    names = set(re.findall(r'name="([a-z_0-9]+)"', page)) - {"viewport", "color-scheme"}
    assert len(names) > 25

    response = await visitor.post("/desk/choir/new", dict.fromkeys(names, SCRIPT))

    assert response.status == 422
    assert not _ran(await response.text())
    assert len(await services.choirs.all()) == 1


async def test_a_script_as_the_name_of_a_file_comes_back_as_text(visitor, services):
    services.readings.own_faults = (house.Fault(place=SCRIPT, problem=SCRIPT),)
    form = _upload(SCRIPT + ".musicxml", b"<score/>")

    response = await visitor.post("/desk/choir/c1/day/2025-11-25/music", form)

    assert response.status == 422
    assert not _ran(await response.text())


def _upload(name: str, data: bytes):
    form = FormData()
    form.add_field("file", io.BytesIO(data), filename=name, content_type="application/xml")
    return form


async def test_the_sign_in_page_sends_nobody_to_another_site(visitor, services):
    services.desk.passphrase = house.PASSPHRASE
    for target in ("https://evil.example/", "//evil.example", "/desk\\@evil", "/deskevil", "/"):
        data = {"passphrase": house.PASSPHRASE, "next": target}
        response = await visitor.post("/desk/sign-in", data)
        assert response.headers["Location"] == "/desk"


def _cookie(response) -> str:
    (header,) = response.headers.getall("Set-Cookie")
    return header


async def test_the_desks_cookie_can_be_read_by_no_script_and_goes_to_no_other_site(
    visitor, services
):
    services.desk.passphrase = house.PASSPHRASE
    cookie = _cookie(await visitor.sign_in())

    assert "HttpOnly" in cookie
    assert "SameSite=Strict" in cookie
    assert "Path=/" in cookie
    assert "Domain" not in cookie


async def test_behind_https_the_cookie_is_bound_to_the_host(open_room, services, visit):
    services.desk.passphrase = house.PASSPHRASE
    room = await open_room(services, public_url="https://choir.school.example")
    port = room._parts.address.port
    visitor = visit(room)
    visitor.url = f"http://127.0.0.1:{port}"
    headers = {"Host": "choir.school.example", "Origin": "https://choir.school.example"}

    response = await visitor.post(
        "/desk/sign-in", {"passphrase": house.PASSPHRASE}, headers=headers
    )

    cookie = _cookie(response)
    assert cookie.startswith("__Host-")
    assert "Secure" in cookie


@pytest.mark.parametrize(
    "url", ["choir.example", "ftp://choir.example", "https://choir.example/room", "https://a@b"]
)
def test_a_public_address_with_a_path_or_no_scheme_is_a_problem_of_settings(url):
    with pytest.raises(SettingsProblem, match="--url"):
        Address(host="127.0.0.1", port=8765, public_url=url)


async def test_a_port_that_is_taken_is_one_clear_sentence(open_room, services):
    room = await open_room(services)
    port = int(room.url.rstrip("/").rsplit(":", 1)[1])
    second = server.Room(services, server.RoomOptions(port=port))

    with pytest.raises(SettingsProblem, match=rf"127\.0\.0\.1:{port} is taken.*--port"):
        await second.start()


async def test_a_room_on_all_addresses_answers_to_the_one_it_was_reached_at(
    open_room, services, visit
):
    room = await open_room(services, host="0.0.0.0")  # noqa: S104 - in a test
    visitor = visit(room)
    assert (await visitor.get("/")).status == 200
    assert (await visitor.get("/", headers={"Host": "choir.local"})).status == 421
