"""Planted codes, tokens and addresses are looked for wherever bytes are kept."""

import json
import logging
from dataclasses import replace
from datetime import date

import pytest

from bot.chat.room.server import Room, RoomOptions
from bot.privacy.fields import REGISTER, Kind, tables
from bot.store.backup import make_backup, portable_copy, restore_backup
from bot.store.folder import DATABASE
from bot.store.seat_safe import SAFE, unseal
from tests.chat.conftest import visit
from tests.chat.seated_room import slips, world
from tests.service.seated import rows_of

__all__ = ["slips", "visit", "world"]

_ORIGIN = "https://choir.example.org"
_ADDRESS, _BROWSER, _TYPED = "203.0.113.77", "CanaryBrowser/7.7", "canary-lark"
_LABEL = "canary-label"
_HEADERS = {
    "Host": "choir.example.org",
    "Origin": _ORIGIN,
    "X-Forwarded-For": f"198.51.100.9, {_ADDRESS}",
    "User-Agent": _BROWSER,
}


@pytest.fixture
async def lived(world, slips, visit, caplog, monkeypatch):
    """A singer who does all that a seat can do, and an outsider who guesses; their traces."""
    caplog.set_level(logging.DEBUG)
    room = Room(world.services, RoomOptions(port=0, public_url=_ORIGIN))
    await room.start()
    singer = visit(room)
    url = f"http://127.0.0.1:{room._parts.address.port}"
    line = (await world.services.readings.board("choir-1"))[-1].reading_id
    wishes = [
        ("/seat", {"code": _TYPED}),
        ("/seat", {"code": slips[0].code, "remember": "yes"}),
        ("/seat/tap", {"on": "2026-09-14", "went": "bumpy", "name": _TYPED}),
        ("/seat/tap", {"on": _TYPED, "went": "bumpy"}),
        ("/seat/span", {"reading": line, "beats": "2", "name": _TYPED}),
        ("/seat/span", {"reading": line, "beats": _TYPED}),
    ]
    tokens = []
    for path, fields in wishes:
        cookie = {"Cookie": f"__Host-riserbell-seat={tokens[-1]}"} if tokens else {}
        answer = await singer.session.post(
            url + path, data=fields, headers=_HEADERS | cookie, allow_redirects=False
        )
        if "Set-Cookie" in answer.headers:
            tokens.append(answer.headers["Set-Cookie"].partition("=")[2].partition(";")[0])
    cookie = {"Cookie": f"__Host-riserbell-seat={tokens[-1]}"}
    monkeypatch.setattr(world.services.seating.practice, "days", _slip)
    broken = await singer.session.get(f"{url}/seat?{_TYPED}", headers=_HEADERS | cookie)
    monkeypatch.undo()
    assert broken.status == 500
    await room.stop()
    codes = [code for slip in slips for code in (slip.code, slip.code.replace("-", ""))]
    return [*codes, *tokens, _ADDRESS, "198.51.100.9", _BROWSER, _TYPED]


async def _columns_with(database, words):
    """For each word the columns of any table in which it stands."""
    kept = []
    async with database.snapshot() as read:
        for table in tables():
            rows = await read.rows(f"SELECT * FROM {table}")  # noqa: S608 - of the register
            kept += [(f"{table}.{name}", row[name]) for row in rows for name in row.keys()]  # noqa: SIM118 - no mapping
    texts = [
        (column, value.decode("latin-1") if isinstance(value, bytes) else str(value))
        for column, value in kept
    ]
    found = {word: {column for column, text in texts if word in text} for word in words}
    return {word: columns for word, columns in found.items() if columns}


async def _slip(seat_id):
    raise ZeroDivisionError(f"a slip for {seat_id}")


async def test_the_singer_really_sat_and_tapped(world, lived):
    assert len(await rows_of(world.database, "taps")) == 1
    assert len(await rows_of(world.database, "seat_sessions")) == 1
    ((_, begins, beats),) = await rows_of(world.database, "home_spans")
    assert (begins, beats) == ("2026-09-14", 2)


async def test_no_code_token_or_address_is_in_any_byte_of_the_data_folder(world, lived, tmp_path):
    data = b"".join(file.read_bytes() for file in tmp_path.rglob("*") if file.is_file())

    assert b"Lindenfield" in data, "the database was not looked through"
    assert [one for one in lived if one.encode() in data] == []


async def test_each_planted_word_stands_in_its_own_columns_and_nowhere_else(world, lived):
    choir = await world.services.choirs.get("choir-1")
    (voice,) = choir.voices
    await world.services.choirs.change(replace(choir, voices=(replace(voice, label=_LABEL),)))
    await world.services.readings.preview("choir-1", date(2026, 9, 15))
    ids = {str(row[0]) for row in await rows_of(world.database, "seats")}

    found = await _columns_with(world.database, {*lived, *ids, _LABEL})

    assert found.pop(_LABEL) == {"choir_voices.label", "reading_parts.label"}
    about_seats = {name for name, field in REGISTER.items() if field.kind is Kind.SEAT}
    for word, columns in found.items():
        assert word in ids, (word, columns)
        assert columns <= about_seats
        assert all(name.endswith(".seat_id") for name in columns)


async def test_nothing_of_a_seat_is_in_an_export_and_a_familys_copy_has_one_seat_only(world, lived):
    ids = [str(row[0]) for row in await rows_of(world.database, "seats")]
    rights = world.services.seating.rights
    export = (await rights.export("choir-1")).decode()
    copy = await rights.copy_for_family("choir-1", 1)

    assert "Third Period" in export
    assert [one for one in lived + ids if one in export] == []
    assert copy["seat"] == 1
    assert [one for one in lived + ids if one in json.dumps(copy)] == []


async def test_the_sealed_copy_has_tags_and_no_code_token_or_address(world, lived, tmp_path):
    await world.services.seating.keeper.round()
    assert (tmp_path / SAFE).exists()
    opened = repr(unseal(tmp_path))
    assert "code_tag" in opened
    assert [one for one in lived if one in opened] == []


async def test_no_code_token_or_address_is_in_any_log(lived, caplog):
    everything = "\n".join(
        f"{record.getMessage()} {record.exc_text or ''} {record.args!r}"
        for record in caplog.get_records("setup") + caplog.get_records("call")
        if not record.name.startswith(("tests", "asyncio"))
    )

    assert "a page failed" in everything, "nothing was logged at all, so this shows nothing"
    assert [one for one in lived if one in everything] == []


async def test_nothing_of_a_seat_is_in_a_backup_or_comes_back_from_one(
    world, lived, tmp_path, tmp_path_factory
):
    ids = [str(row[0]) for row in await rows_of(world.database, "seats")]

    copy = portable_copy(tmp_path / DATABASE)
    restored = tmp_path_factory.mktemp("restored")
    passphrase = "cabbage violet ladder nineteen"
    restore_backup(make_backup(tmp_path, passphrase), passphrase, restored)

    data = copy + b"".join(file.read_bytes() for file in restored.iterdir())
    assert b"Lindenfield" in data
    assert [one for one in lived + ids if one.encode() in data] == []


async def test_after_erasing_no_byte_tells_of_the_seat(world, lived, tmp_path):
    (seat_id,) = {row[0] for row in await rows_of(world.database, "taps")}
    (tag,) = [tag for who, tag in await rows_of(world.database, "seat_codes") if who == seat_id]
    (session,) = [row[1] for row in await rows_of(world.database, "seat_sessions")]
    assert seat_id.encode() in (tmp_path / DATABASE).read_bytes()

    await world.services.seating.rights.forget(seat_id, by_director=False)

    data = b"".join(file.read_bytes() for file in tmp_path.rglob("*") if file.is_file())
    assert [one for one in (seat_id.encode(), tag, session) if one in data] == []
    assert seat_id not in repr(unseal(tmp_path))
