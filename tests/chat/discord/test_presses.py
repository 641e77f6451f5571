"""Presses of the card's buttons: private, after a restart too, and in the right place only."""

from __future__ import annotations

import asyncio

import pytest

from bot.errors import RenderFailed
from bot.service.card import Arrangement, Media
from tests.standin.faults import Fault, Kind
from tests.standin.person import Unanswered, finished

_CALLBACK = "/interactions/{interaction_id}/{interaction_token}/callback"
_ORIGINAL = "/webhooks/{webhook_id}/{webhook_token}/messages/@original"


@pytest.fixture
async def up(stage, surface):
    """The card as it stands in the channel."""
    await surface.post(stage.card(), "nonce")
    return stage.posted()[0]


async def test_a_part_is_given_to_the_one_who_pressed_and_to_nobody_else(stage, up):
    lark, wren = stage.person("lark"), stage.person("wren")

    answer = await lark.press(up, "Part II")
    given = await finished(answer)

    assert given.only_for == lark.user.id
    assert wren.sees(stage.channel) == [up]
    assert given.embed["title"] == "Part II · Monday, November 24"
    assert set(given.files) == {
        "line-Part-II-2025-11-24.png",
        "key-Part-II-2025-11-24.mp3",
        "start-Part-II-2025-11-24.mp3",
    }
    picture = given.files["line-Part-II-2025-11-24.png"].decode()
    assert picture == f"c1-20251124 {Arrangement.TOGETHER} 1 {Media.PICTURE}"


async def test_a_press_is_acknowledged_before_anything_is_made(stage, up):
    stage.readings.asked.clear()

    answer = await stage.person("lark").press(up, "Part I")

    assert answer.callback == 5
    await finished(answer)
    assert stage.readings.asked


async def test_from_the_own_part_one_goes_home_to_the_own_key(stage, up):
    lark = stage.person("lark")
    own = await finished(await lark.press(up, "Part II"))

    home = await finished(await lark.press(own, "At home: C major"))

    assert home.only_for == lark.user.id
    assert "C major" in home.embed["description"]
    assert home.embed["image"]["description"] == "The same line for Part II, in C major."
    assert home.buttons == []


async def test_a_button_of_an_earlier_life_still_works(stage):
    async with stage.connected() as first:
        await first.post(stage.card(), "nonce")
    (up,) = stage.posted()

    async with stage.connected():
        given = await finished(await stage.person("lark").press(up, "Part III"))

    assert "Part III" in given.embed["title"]


async def test_the_library_keeps_no_view_of_what_was_posted_or_answered(stage, surface, up):
    await finished(await stage.person("lark").press(up, "Part II"))

    store = surface._connection._connection._view_store
    assert store._views == {}
    assert store._synced_message_views == {}


async def test_a_reading_that_is_gone_is_said_to_be_gone(stage, up):
    stage.readings.up.clear()

    given = await finished(await stage.person("lark").press(up, "Part I"))

    assert given.embed["description"] == stage.services.content.wording("reading.unknown")


async def test_a_forged_press_gets_no_answer(stage, up, monkeypatch):
    monkeypatch.setattr("tests.standin.person.FIRST_ANSWER_S", -0.2)
    forged = up.buttons[0]["custom_id"].replace("c1-", "c2-")

    with pytest.raises(Unanswered):
        await stage.person("lark").press_id(up, forged)


async def test_a_card_in_a_channel_that_is_no_longer_the_choirs_gives_nothing(stage, up):
    moved = stage.discord.world.add_channel(stage.guild, "elsewhere")
    await stage.link(channel=moved)

    given = await finished(await stage.person("lark").press(up, "Part I"))

    assert given.embed["description"] == stage.services.content.wording("discord.other_channel")
    assert given.files == {}


async def test_a_picture_that_cannot_be_made_is_said_so_in_words(stage, up):
    stage.readings.broken = RenderFailed("no engraver")

    given = await finished(await stage.person("lark").press(up, "Part I"))

    assert given.embed["description"] == stage.services.content.wording("status.render_failed")
    assert given.files == {}


async def test_an_unforeseen_error_is_answered_too(stage, up):
    stage.readings.broken = ZeroDivisionError("a slip")

    given = await finished(await stage.person("lark").press(up, "Part I"))

    assert "ZeroDivisionError" in given.embed["description"]


@pytest.mark.parametrize(
    ("template", "method", "kind"),
    [
        (_CALLBACK, "POST", Kind.RESET_BEFORE),
        (_CALLBACK, "POST", Kind.RESET_AFTER),
        (_ORIGINAL, "PATCH", Kind.RESET_BEFORE),
        (_ORIGINAL, "PATCH", Kind.RESET_AFTER),
    ],
)
async def test_a_reset_line_still_ends_in_one_answer(stage, up, template, method, kind):
    stage.discord.faults.add(Fault(kind=kind, method=method, template=template))
    lark = stage.person("lark")

    await finished(await lark.press(up, "Part I"))
    await asyncio.sleep(0.3)

    assert [one.only_for for one in lark.sees(stage.channel)] == [None, lark.user.id]
    assert stage.discord.faults.left == []


async def test_an_answer_that_came_too_late_does_not_stop_the_bot(stage, up, monkeypatch):
    stage.discord.faults.add(
        Fault(kind=Kind.ERROR_BEFORE, method="POST", template=_CALLBACK, value=404)
    )
    lark = stage.person("lark")

    with monkeypatch.context() as hasty, pytest.raises(Unanswered):
        hasty.setattr("tests.standin.person.FIRST_ANSWER_S", 0.0)
        await lark.press(up, "Part I")
    await finished(await lark.press(up, "Part I"))


async def test_ten_presses_a_minute_are_answered_and_the_next_asks_for_a_breath(stage, up):
    lark = stage.person("lark")
    given = [await finished(await lark.press(up, "Part I")) for _ in range(11)]

    said = stage.services.content.wording("discord.too_fast")
    assert [one.embed["description"] == said for one in given] == [False] * 10 + [True]
    wren = await finished(await stage.person("wren").press(up, "Part I"))
    assert wren.embed["description"] != said
