"""Attacks on every address that the room has, whichever family it belongs to, with seats taken."""

import asyncio
import re
from pathlib import Path

import pytest

from bot.chat.room import posted
from tests.chat.seated_room import room, singer, sit, slips, visit, world
from tests.service.seated import rows_of

__all__ = ["room", "singer", "slips", "visit", "world"]

SCRIPT = "<script>alert(7)</script>\"'><img src=x>{{7*7}}"
_TEMPLATES = Path(__file__).parents[2] / "bot" / "chat" / "room" / "templates"
_GAPS = {
    "choir": "choir-1",
    "number": "1",
    "on": "2026-09-15",
    "part": "1",
    "arrangement": "together",
    "kind": "picture.svg",
    "digest": "0" * 16,
    "name": "room.css",
    "size": "",
    "said": "read",
    "sheet": "sheet-1",
}
_GAP = re.compile(r"\{(\w+)\}")
# What ends the attack on everything else: it comes last.
_LAST = ("/desk/sign-out", "/desk/passphrase", "/remove", "/seat/forget", "/seat/leave")


def addresses(room, method, reading="r"):
    """Every address of the room that answers to a method, its gaps filled."""
    gaps, found = {**_GAPS, "reading": reading}, []
    for resource in room._runner.app.router.resources():
        if method not in {route.method for route in resource}:
            continue
        path = _GAP.sub(lambda gap: gaps.get(gap[1], "1"), resource.canonical)
        if not path.endswith("/live"):
            found.append(path)
    found.sort(key=lambda path: path.endswith(_LAST))
    assert len(found) > 20
    return found


def fields():
    """Every name of a field on any page."""
    texts = [file.read_text(encoding="utf-8") for file in _TEMPLATES.glob("*.html")]
    plain = {name for text in texts for name in re.findall(r'name="([a-z_]+)"', text)}
    made = {name for text in texts for name in re.findall(r'f\.\w+\("([a-z_]+)"', text)}
    assert len(plain | made) > 40
    return plain | made


def ran(text):
    """Whether planted words became a script, a tag, a template or a new attribute."""
    return "<script>alert" in text or "<img src=x" in text or "49}" in text or ">49<" in text


async def a_reading(world):
    (row,) = [row for row in await rows_of(world.database, "deliveries") if row[3] == "room"]
    return str(row[5])


async def test_no_address_answers_to_another_host(room, singer, slips):
    await sit(singer, slips[0].code)
    for method in ("GET", "POST"):
        for path in addresses(room, method):
            answer = await singer.session.request(
                method, singer.url + path, headers={"Host": "rebound.example:80"}
            )
            assert (path, answer.status) == (path, 421)


@pytest.mark.parametrize(
    "headers",
    [
        {"Origin": "https://elsewhere.example", "Sec-Fetch-Site": "cross-site"},
        {"Origin": "null"},
        {"Sec-Fetch-Site": "same-site"},
        {},
    ],
)
async def test_no_other_site_changes_anything(world, room, singer, slips, headers):
    await sit(singer, slips[0].code)
    before = {table: await rows_of(world.database, table) for table in ("seats", "choirs", "taps")}
    for path in addresses(room, "POST"):
        answer = await singer.session.post(
            singer.url + path, data={"on": "2026-09-14", "went": "steady"}, headers=headers
        )
        assert (path, answer.status) == (path, 403)
    for table, rows in before.items():
        assert await rows_of(world.database, table) == rows


async def test_looking_never_changes_anything(world, room, singer, slips):
    await sit(singer, slips[0].code)
    reading = await a_reading(world)
    tables = ("seats", "seat_codes", "seat_sessions", "choirs", "taps", "deliveries", "audit")
    before = {table: await rows_of(world.database, table) for table in tables}
    for path in addresses(room, "GET", reading):
        answer = await singer.session.get(singer.url + path, allow_redirects=False)
        # 503: no sheet of paper is made of what stands in for pictures here.
        assert answer.status < 500 or (answer.status, path[-4:]) == (503, ".pdf"), path
    assert {table: await rows_of(world.database, table) for table in tables} == before


async def test_a_body_that_is_too_large_is_refused_everywhere(room, singer, slips):
    await sit(singer, slips[0].code)
    body = b"code=" + b"A" * (posted.FIELDS_LIMIT + 1)
    kind = {"Origin": singer.url, "Content-Type": "application/x-www-form-urlencoded"}
    statuses = {}
    for path in addresses(room, "POST"):
        answer = await singer.session.post(
            singer.url + path, data=body, headers=kind, allow_redirects=False
        )
        statuses[path] = answer.status
    assert [path for path, status in statuses.items() if status >= 500] == []
    assert statuses["/seat"] == statuses["/seat/tap"] == 413


async def test_a_code_that_trickles_in_is_given_up(room, singer, monkeypatch):
    monkeypatch.setattr(posted, "_BODY_TIME_S", 0.2)

    async def slowly():
        yield b"code=A"
        await asyncio.sleep(1)
        yield b"B"

    kind = {"Origin": singer.url, "Content-Type": "application/x-www-form-urlencoded"}
    answer = await singer.session.post(singer.url + "/seat", data=slowly(), headers=kind)
    assert answer.status == 408


async def test_a_script_in_any_field_of_any_form_never_runs(room, singer, slips):
    await sit(singer, slips[0].code)
    planted = dict.fromkeys(fields(), SCRIPT)
    for path in addresses(room, "POST"):
        answer = await singer.post(path, planted)
        assert answer.status < 500, path
        assert not ran(await answer.text()), path


async def test_a_script_in_any_address_never_runs(world, room, singer, slips):
    await sit(singer, slips[0].code)
    query = "&".join(
        f"{name}={SCRIPT}" for name in ("done", "of", "week", "reading", "part", "way")
    )
    for path in addresses(room, "GET", await a_reading(world)):
        answer = await singer.get(f"{path}?{query}")
        assert answer.status < 500 or (answer.status, path[-4:]) == (503, ".pdf"), path
        if answer.content_type.startswith("text/"):
            assert not ran(await answer.text()), path
    for path in ("/choir/", "/reading/", "/desk/choir/", "/stage/", "/nothing/"):
        assert not ran(await (await singer.get(path + SCRIPT)).text())
