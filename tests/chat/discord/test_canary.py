"""Nothing about a person stays: planted names and ids are looked for wherever bytes are kept."""

from __future__ import annotations

import gc
import logging
import sqlite3
from contextlib import closing

import discord as library
import pytest

from bot.errors import RenderFailed
from bot.store.backup import make_backup, restore_backup
from bot.store.folder import DATABASE
from tests.service.seated import rows_of
from tests.standin.faults import Fault, Kind
from tests.standin.library import until
from tests.standin.person import Unanswered, finished
from tests.standin.server import TOKEN

_CALLBACK = "/interactions/{interaction_id}/{interaction_token}/callback"


async def _live_through_everything(stage, surface, monkeypatch):
    """Presses, commands and failures of people whose names would be seen at once."""
    await stage.seats(2)
    people = [
        stage.person("canary-lark"),
        stage.person("canary-wren", roles=(stage.director_role,)),
        stage.person("canary-head", manages=True),
    ]
    card = stage.card(on=stage.today)
    await stage.offered(card)
    await surface.post(card, "nonce")
    (up,) = stage.posted()
    tokens = await _link_and_tap(stage, people[0], up)
    for person in people:
        answer = await person.press(up, "Part I")
        tokens.append(answer.token)
        await finished(answer)
        for line in ("/my data", "/my row", "/about", "/read today", "/read key", "/desk status"):
            answer = await person.run(stage.channel, line, allowed=True)
            tokens.append(answer.token)
            await finished(answer)
        await person.complete(stage.channel, "/read part", "part", "x")
    stage.readings.broken = ZeroDivisionError("a slip")
    await finished(await people[0].press(up, "Part II"))
    stage.readings.broken = RenderFailed("no engraver")
    await finished(await people[0].press(up, "Part II"))
    for kind, value in ((Kind.ERROR_BEFORE, 404), (Kind.BANNED, 0), (Kind.LIMITED, 0.01)):
        stage.discord.faults.add(Fault(kind=kind, method="POST", template=_CALLBACK, value=value))
        with monkeypatch.context() as hasty:
            hasty.setattr("tests.standin.person.FIRST_ANSWER_S", -0.2)
            try:
                await people[1].press(up, "Part I")
            except Unanswered:
                continue
    await stage.discord.gateway.cut()
    return people, tokens


async def _link_and_tap(stage, person, up):
    """A wrong code, a right one, a tap; the codes and the tokens of it all."""
    right = await stage.link_code(1)
    used = [right, right.replace("-", ""), "CANARY00"]
    for code in ("CANARY00", right):
        asked = await person.press(up, "I read it: steady")
        form = await person.press(
            await finished(asked), stage.services.content.wording("link.button")
        )
        sent = await person.fill_in(form, code=code)
        await finished(sent)
        used += [asked.token, form.token, sent.token]
    answer = await person.press(up, "I read it: bumpy")
    assert "bumpy" in (await finished(answer)).embed["description"]
    return [*used, answer.token]


@pytest.fixture
async def canaries(stage, surface, caplog, monkeypatch):
    caplog.set_level(logging.DEBUG)
    people, tokens = await _live_through_everything(stage, surface, monkeypatch)
    users = [person.user for person in people]
    return [
        *("canary-" + name for name in ("lark", "wren", "head")),
        *(user.id for user in users),
        *tokens,
        TOKEN,
    ]


async def test_no_name_id_nick_or_token_is_in_any_log(stage, caplog, canaries):
    everything = "\n".join(
        f"{record.getMessage()} {record.exc_text or ''} {record.args!r}"
        for record in caplog.get_records("setup") + caplog.get_records("call")
        if not record.name.startswith(("tests", "asyncio"))
    )

    assert len(everything) > 100, "nothing was logged at all, so this shows nothing"
    assert [one for one in canaries if one in everything] == []


async def test_no_name_id_nick_or_token_is_in_any_byte_of_the_data_folder(
    stage, tmp_path, canaries
):
    files = [file for file in tmp_path.rglob("*") if file.is_file()]
    data = b"".join(file.read_bytes() for file in files)

    assert stage.channel.id.encode() in data, "the database was not looked through"
    assert [one for one in canaries if one.encode() in data] == []


async def test_the_backup_has_no_seat_no_link_and_nothing_planted(stage, tmp_path, canaries):
    assert len(await rows_of(stage.database, "seat_links")) == 1
    sealed = make_backup(tmp_path, "cabbage violet ladder nineteen")
    restored = tmp_path.with_name(f"{tmp_path.name}-restored")
    restore_backup(sealed, "cabbage violet ladder nineteen", restored)

    data = b"".join(file.read_bytes() for file in restored.rglob("*") if file.is_file())

    assert stage.channel.id.encode() in data, "the backup was not looked through"
    assert [one for one in canaries if one.encode() in data] == []
    with closing(sqlite3.connect(restored / DATABASE)) as file:
        for table in ("seats", "seat_links", "seat_link_codes", "taps", "read_days"):
            rows = file.execute(f"SELECT count(*) FROM {table}")  # noqa: S608 - names of ours
            assert rows.fetchone() == (0,)


async def test_no_person_stays_in_the_memory_of_the_library(stage, surface, monkeypatch):
    await _live_through_everything(stage, surface, monkeypatch)

    def kept():
        gc.collect()
        people = (library.Member, library.User)
        found = [thing for thing in gc.get_objects() if isinstance(thing, people)]
        return [thing for thing in found if "canary" in thing.name]

    await until(lambda: not kept())
