"""Taps from Discord: counted once, said privately; the row, the data, and leaving the seat."""

from __future__ import annotations

import asyncio
import json

import pytest

from bot.activities.choir import Hearing
from bot.activities.taps import Went
from bot.privacy.approval import fields_needed
from bot.store.seat_links import keep_account
from tests.chat.discord.seat_link import card_for_seats, link, say
from tests.service.seated import rows_of
from tests.standin.person import finished


@pytest.fixture
async def up(stage, surface):
    return await card_for_seats(stage, surface)


@pytest.mark.parametrize("went", list(Went))
async def test_a_tap_is_counted_once_and_said_privately(stage, up, went):
    lark = stage.person("lark")
    await link(stage, lark, 1)
    label = say(stage, "discord.read_button", went=say(stage, f"seat.went.{went}").lower())

    told = [await finished(await lark.press(up, label)) for _ in range(3)]

    assert {one.only_for for one in told} == {lark.user.id}
    assert all(say(stage, f"seat.said.{went}") in one.embed["description"] for one in told)
    taps = await rows_of(stage.database, "taps")
    assert [(row[1], row[3]) for row in taps] == [(stage.today.isoformat(), went.value)]
    assert len(await rows_of(stage.database, "read_days")) == 1


async def test_the_answer_to_a_tap_comes_in_one_piece_after_it_is_kept(stage, up):
    lark = stage.person("lark")
    await link(stage, lark, 1)

    answer = await lark.press(up, "I read it: steady")

    assert answer.callback == 4
    assert len(await rows_of(stage.database, "taps")) == 1


async def test_a_tap_that_takes_long_is_acknowledged_in_time_and_answered_later(
    stage, up, monkeypatch
):
    monkeypatch.setattr("bot.chat.discord.answer._AT_ONCE_S", 0.0)
    lark = stage.person("lark")
    await link(stage, lark, 1)

    answer = await lark.press(up, "I read it: steady")

    assert answer.callback == 5
    assert say(stage, "seat.said.steady") in (await finished(answer)).embed["description"]


async def test_without_a_seat_nothing_is_counted_and_the_way_to_one_is_offered(stage, up):
    told = await finished(await stage.person("lark").press(up, "I read it: bumpy"))

    assert told.embed["description"] == say(stage, "link.none")
    assert next(one["label"] for one in told.buttons) == say(stage, "link.button")
    assert await rows_of(stage.database, "taps") == []


async def test_the_line_is_heard_after_the_first_try_and_privately(stage, up):
    lark = stage.person("lark")
    assert all("Hear" not in one["label"] for one in up.buttons)
    told = await finished(await lark.press(up, "I read it: steady"))

    heard = await finished(await lark.press(told, "Hear it once"))

    assert heard.only_for == lark.user.id
    assert [name.partition("-")[0] for name in heard.files] == ["heard"]


async def test_where_the_director_opens_the_line_it_is_closed_until_then(stage, up):
    stage.readings.shut = True
    lark = stage.person("lark")
    told = await finished(await lark.press(up, "I read it: steady"))

    heard = await finished(await lark.press(told, "Hear it once"))

    assert heard.embed["description"] == say(stage, "stage.closed")
    assert heard.files == {}


async def test_where_nothing_is_ever_heard_nothing_is_offered(stage, up):
    async with stage.database.transaction() as change:
        never = {"hearing": Hearing.NEVER.value}
        await change.update("choirs", never, {"choir_id": stage.choir.id})

    told = await finished(await stage.person("lark").press(up, "I read it: steady"))

    assert "Hear it once" not in [one["label"] for one in told.buttons]


async def test_where_taps_are_not_signed_for_one_button_says_it_and_keeps_nothing(stage, surface):
    await stage.sign(stage.choir, stage.channel, activities=[])
    await surface.post(stage.card(on=stage.today), "nonce")

    told = await finished(await stage.person("lark").press(stage.posted()[0], "I read it"))

    assert told.embed["description"] == say(stage, "discord.read_uncounted")
    assert await rows_of(stage.database, "taps") == []


async def test_an_old_card_after_the_sheet_is_gone_counts_nothing(stage, up):
    lark = stage.person("lark")
    await link(stage, lark, 1)
    await stage.end_sheet()

    told = await finished(await lark.press(up, "I read it: steady"))

    assert told.embed["description"] == say(stage, "discord.not_open")
    assert await rows_of(stage.database, "taps") == []


async def test_the_row_the_data_and_the_leaving_are_for_the_seats_own_account(stage, up):
    lark, wren = stage.person("lark"), stage.person("wren")
    await link(stage, lark, 1)
    await finished(await lark.press(up, "I read it: steady"))

    row = await finished(await lark.run(stage.channel, "/my row"))
    data = await finished(await lark.run(stage.channel, "/my data"))
    nobodys = await finished(await wren.run(stage.channel, "/my data"))

    assert "♩" in row.embed["description"]
    kept = json.loads(data.files["my-data.json"])
    assert (kept["seat"], kept["account_linked"]) == (1, True)
    assert kept["days_read"] == [stage.today.isoformat()]
    assert nobodys.files == {}
    assert nobodys.embed["description"] == say(stage, "link.none")


async def test_leaving_drops_the_tag_at_once_and_keeps_the_seat(stage, up):
    lark = stage.person("lark")
    await link(stage, lark, 1)
    await finished(await lark.press(up, "I read it: steady"))

    told = await finished(await lark.run(stage.channel, "/my leave"))
    again = await finished(await lark.run(stage.channel, "/my leave"))

    assert told.embed["description"] == say(stage, "link.left")
    assert again.embed["description"] == say(stage, "link.was_none")
    assert await rows_of(stage.database, "seat_links") == []
    assert len(await rows_of(stage.database, "taps")) == 1


async def test_leaving_needs_no_approval(stage, up):
    lark = stage.person("lark")
    await link(stage, lark, 1)
    await stage.end_sheet()

    await finished(await lark.run(stage.channel, "/my leave"))

    assert await rows_of(stage.database, "seat_links") == []


async def test_a_class_that_presses_at_one_moment_is_counted_each_once(stage, surface):
    await stage.seats(20)
    card = stage.card(on=stage.today)
    await stage.offered(card)
    await surface.post(card, "nonce")
    singers = [stage.person(f"singer-{number}") for number in range(20)]
    seating = stage.services.seating
    seats = await seating.seats.of_choir(stage.choir.id)
    tags = [await seating.links.tag(stage.guild.id, int(one.user.id)) for one in singers]
    allowed = fields_needed(frozenset(), discord=True)
    async with stage.database.transaction(allowed) as change:
        for seat, tag in zip(seats, tags, strict=True):
            await keep_account(change, seat, tag)

    presses = [one.press(stage.posted()[0], "I read it: steady") for one in singers * 2]
    answers = [await finished(answer) for answer in await asyncio.gather(*presses)]

    assert all(say(stage, "seat.marked") in one.embed["description"] for one in answers)
    assert len(await rows_of(stage.database, "taps")) == 20
    assert len(await rows_of(stage.database, "read_days")) == 20
