"""A seat and an account: linked by a code for a day, one at a time, gone with what allowed it."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from tests.chat.discord.seat_link import card_for_seats, link, say
from tests.chat.discord.stage import a_stage
from tests.service.seated import rows_of
from tests.standin.person import finished

_NOON = datetime(2026, 9, 14, 17, 0, tzinfo=UTC)


@pytest.fixture
async def up(stage, surface):
    return await card_for_seats(stage, surface)


async def test_a_code_from_the_seats_page_links_the_account_privately(stage, up):
    lark, wren = stage.person("lark"), stage.person("wren")

    told = await link(stage, lark, 1)

    assert told.embed["description"] == say(stage, "link.made", number=1)
    assert told.only_for == lark.user.id
    assert wren.sees(stage.channel) == [up]


async def test_a_code_works_once(stage, up):
    code = await stage.link_code(1)
    await link(stage, stage.person("lark"), 1, code)

    told = await link(stage, stage.person("wren"), 1, code)

    assert told.embed["description"] == say(stage, "link.wrong")
    assert len(await rows_of(stage.database, "seat_links")) == 1


async def test_the_code_on_the_slip_itself_links_nothing(stage, surface):
    slips = await stage.seats(1)

    told = await link(stage, stage.person("lark"), 1, slips[0].code)

    assert told.embed["description"] == say(stage, "link.wrong")


async def test_five_wrong_codes_an_hour_are_enough_and_bar_nobody_else(stage, up):
    lark = stage.person("lark")
    right = await stage.link_code(1)
    tag = await stage.services.seating.links.tag(stage.guild.id, int(lark.user.id))
    for _ in range(5):
        with pytest.raises(Exception, match=r"link\.wrong"):
            await stage.services.seating.links.take(stage.choir.id, tag, "0000-0000")

    barred = await link(stage, lark, 1, right)
    other = await link(stage, stage.person("wren"), 1, right)

    assert barred.embed["description"] == say(stage, "link.wait")
    assert other.embed["description"] == say(stage, "link.made", number=1)


async def test_one_account_a_seat_and_one_seat_an_account(stage, up):
    lark, wren = stage.person("lark"), stage.person("wren")
    await link(stage, lark, 1)
    await link(stage, wren, 1)
    assert len(await rows_of(stage.database, "seat_links")) == 1
    left = await finished(await lark.run(stage.channel, "/my data"))
    assert left.embed["description"] == say(stage, "link.none")

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
                await links.close(stage.choir.id, stage.today)
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
        form = await lark.press(asked, say(stage, "link.button"))
    async with stage.connected():
        told = await finished(await lark.fill_in(form, code=code))

    assert told.embed["description"] == say(stage, "link.made", number=1)


async def test_a_clock_in_doubt_closes_the_place_and_takes_nobodys_account(tmp_path):
    async with a_stage(tmp_path, now=_NOON) as stage:
        await stage.seats(1)
        links, clock = stage.services.seating.links, stage.services.clock
        tag = await links.tag(stage.guild.id, 2)
        await links.take(stage.choir.id, tag, await stage.link_code(1))
        await stage.services.seating.approvals.see_date()

        clock._now = _NOON - timedelta(days=5)
        await links.close(stage.choir.id, stage.today)
        closed = await links.seat_of(stage.choir.id, tag)
        clock._now = _NOON
        back = await links.seat_of(stage.choir.id, tag)
        clock._now = _NOON + timedelta(days=91)
        await links.close(stage.choir.id, stage.today)

        assert (closed, back is not None) == (None, True)
        assert await rows_of(stage.database, "seat_links") == []
