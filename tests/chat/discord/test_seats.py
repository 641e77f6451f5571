"""A seat and an account: linked by a code for a day, counted once, shown, and left at once."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta

import pytest

from bot.activities.choir import Hearing
from bot.activities.taps import Went
from tests.chat.discord.stage import a_stage
from tests.service.seated import rows_of
from tests.standin.person import finished

_NOON = datetime(2026, 9, 14, 17, 0, tzinfo=UTC)


@pytest.fixture
async def up(stage, surface):
    """Today's card in the channel, and two seats."""
    await stage.seats(2)
    card = stage.card(on=stage.today)
    await stage.offered(card)
    await surface.post(card, "nonce")
    return stage.posted()[0]


def _say(stage, key, **gaps):
    return stage.services.content.wording(key, **gaps)


async def link(stage, person, number, code=None):
    """What a singer does: a command, the button under its answer, the code into the form."""
    code = code or await stage.link_code(number)
    asked = await finished(await person.run(stage.channel, "/my row"))
    form = await person.press(asked, _say(stage, "link.button"))
    assert form.callback == 9, "no form was opened"
    return await finished(await person.fill_in(form, code=code))


async def test_a_code_from_the_seats_page_links_the_account_privately(stage, up):
    lark, wren = stage.person("lark"), stage.person("wren")

    told = await link(stage, lark, 1)

    assert told.embed["description"] == _say(stage, "link.made", number=1)
    assert told.only_for == lark.user.id
    assert wren.sees(stage.channel) == [up]


@pytest.mark.parametrize("went", list(Went))
async def test_a_tap_is_counted_once_and_said_privately(stage, up, went):
    lark = stage.person("lark")
    await link(stage, lark, 1)
    label = _say(stage, "discord.read_button", went=_say(stage, f"seat.went.{went}").lower())

    told = [await finished(await lark.press(up, label)) for _ in range(3)]

    assert {one.only_for for one in told} == {lark.user.id}
    assert all(_say(stage, f"seat.said.{went}") in one.embed["description"] for one in told)
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
    assert _say(stage, "seat.said.steady") in (await finished(answer)).embed["description"]


async def test_without_a_seat_nothing_is_counted_and_the_way_to_one_is_offered(stage, up):
    told = await finished(await stage.person("lark").press(up, "I read it: bumpy"))

    assert told.embed["description"] == _say(stage, "link.none")
    assert next(one["label"] for one in told.buttons) == _say(stage, "link.button")
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

    assert heard.embed["description"] == _say(stage, "stage.closed")
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

    assert told.embed["description"] == _say(stage, "discord.read_uncounted")
    assert await rows_of(stage.database, "taps") == []


async def test_an_old_card_after_the_sheet_is_gone_counts_nothing(stage, up):
    lark = stage.person("lark")
    await link(stage, lark, 1)
    await stage.end_sheet()

    told = await finished(await lark.press(up, "I read it: steady"))

    assert told.embed["description"] == _say(stage, "discord.not_open")
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
    assert nobodys.embed["description"] == _say(stage, "link.none")


async def test_leaving_drops_the_tag_at_once_and_keeps_the_seat(stage, up):
    lark = stage.person("lark")
    await link(stage, lark, 1)
    await finished(await lark.press(up, "I read it: steady"))

    told = await finished(await lark.run(stage.channel, "/my leave"))
    again = await finished(await lark.run(stage.channel, "/my leave"))

    assert told.embed["description"] == _say(stage, "link.left")
    assert again.embed["description"] == _say(stage, "link.was_none")
    assert await rows_of(stage.database, "seat_links") == []
    assert len(await rows_of(stage.database, "taps")) == 1


async def test_leaving_needs_no_approval(stage, up):
    lark = stage.person("lark")
    await link(stage, lark, 1)
    await stage.end_sheet()

    await finished(await lark.run(stage.channel, "/my leave"))

    assert await rows_of(stage.database, "seat_links") == []


async def test_a_code_works_once(stage, up):
    code = await stage.link_code(1)
    await link(stage, stage.person("lark"), 1, code)

    told = await link(stage, stage.person("wren"), 1, code)

    assert told.embed["description"] == _say(stage, "link.wrong")
    assert len(await rows_of(stage.database, "seat_links")) == 1


async def test_the_code_on_the_slip_itself_links_nothing(stage, surface):
    slips = await stage.seats(1)

    told = await link(stage, stage.person("lark"), 1, slips[0].code)

    assert told.embed["description"] == _say(stage, "link.wrong")


async def test_five_wrong_codes_an_hour_are_enough_and_bar_nobody_else(stage, up):
    lark = stage.person("lark")
    right = await stage.link_code(1)
    tag = await stage.services.seating.links.tag(stage.guild.id, int(lark.user.id))
    for _ in range(5):
        with pytest.raises(Exception, match=r"link\.wrong"):
            await stage.services.seating.links.take(stage.choir.id, tag, "0000-0000")

    barred = await link(stage, lark, 1, right)
    other = await link(stage, stage.person("wren"), 1, right)

    assert barred.embed["description"] == _say(stage, "link.wait")
    assert other.embed["description"] == _say(stage, "link.made", number=1)


async def test_one_account_a_seat_and_one_seat_an_account(stage, up):
    lark, wren = stage.person("lark"), stage.person("wren")
    await link(stage, lark, 1)
    await link(stage, wren, 1)
    assert len(await rows_of(stage.database, "seat_links")) == 1
    left = await finished(await lark.run(stage.channel, "/my data"))
    assert left.embed["description"] == _say(stage, "link.none")

    # Wren is free to take another seat, and has to leave this one for it.
    await finished(await wren.run(stage.channel, "/my leave"))
    await link(stage, wren, 2)

    assert len(await rows_of(stage.database, "seat_links")) == 1


async def test_a_new_slip_sends_the_account_away_too(stage, up):
    lark = stage.person("lark")
    await link(stage, lark, 1)

    await stage.services.seating.seats.new_slip(stage.choir.id, 1)

    assert await rows_of(stage.database, "seat_links") == []


async def test_what_is_linked_or_waits_goes_with_the_sheet_the_link_and_the_server(stage, up):
    links = stage.services.seating.links
    for ending in ("sheet", "unlink", "kicked"):
        await stage.link()
        await link(stage, stage.person("lark"), 1)
        await stage.link_code(2)
        match ending:
            case "sheet":
                await stage.end_sheet()
                await links.close(stage.choir.id)
            case "unlink":
                await stage.links.unlink(stage.choir.id)
            case "kicked":
                await stage.discord.gateway.leave(stage.guild.id)
                answer = stage.links
                for _ in range(200):
                    if await answer.of_choir(stage.choir.id) is None:
                        break
                    await stage.services.clock.sleep(0.02)
        assert await rows_of(stage.database, "seat_links") == [], ending
        assert await rows_of(stage.database, "seat_link_codes") == [], ending


async def test_a_code_lives_a_day_by_the_hour_and_its_row_says_nothing_of_the_hour(tmp_path):
    async with a_stage(tmp_path, now=_NOON) as stage:
        await stage.seats(1)
        code = await stage.link_code(1)
        links, clock = stage.services.seating.links, stage.services.clock
        tag = await links.tag("1", 2)
        (row,) = await rows_of(stage.database, "seat_link_codes")
        assert row[2] == stage.today.isoformat()

        clock._now = _NOON + timedelta(hours=24)
        with pytest.raises(Exception, match=r"link\.wrong"):
            await links.take(stage.choir.id, tag, code)
        clock._now = _NOON + timedelta(hours=23)
        seat = await links.take(stage.choir.id, tag, code)

        assert seat.number == 1
        assert await links.seat_of(stage.choir.id, tag) == seat


async def test_a_form_that_was_opened_before_a_restart_is_still_taken(stage):
    await stage.seats(1)
    lark = stage.person("lark")
    code = await stage.link_code(1)
    async with stage.connected():
        asked = await finished(await lark.run(stage.channel, "/my row"))
        form = await lark.press(asked, _say(stage, "link.button"))
    async with stage.connected():
        told = await finished(await lark.fill_in(form, code=code))

    assert told.embed["description"] == _say(stage, "link.made", number=1)
