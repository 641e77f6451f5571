"""Posting ends in exactly one message, whatever happens on the way."""

from __future__ import annotations

import asyncio
from datetime import timedelta

import pytest

from bot.chat.discord.posting import channel_nonce
from bot.errors import Refused, SurfaceUnavailable
from tests.chat.discord.stage import a_stage
from tests.chat.house import a_choir
from tests.standin.faults import Fault, Kind
from tests.standin.world import (
    ATTACH_FILES,
    NONCE_WINDOW_S,
    SEND_MESSAGES,
    VIEW_CHANNEL,
    WITHOUT_HISTORY,
)

_MESSAGES = "/channels/{channel_id}/messages"
_MATRIX = [
    Fault(kind=Kind.ERROR_BEFORE, value=502),
    Fault(kind=Kind.ERROR_AFTER, value=502),
    Fault(kind=Kind.ERROR_BEFORE, value=503, times=2),
    Fault(kind=Kind.ERROR_AFTER, value=503, times=2),
    Fault(kind=Kind.RESET_BEFORE, times=2),
    Fault(kind=Kind.RESET_AFTER, times=2),
    Fault(kind=Kind.LIMITED, value=0.3),
    Fault(kind=Kind.LIMITED_EVERYWHERE, value=0.3),
    Fault(kind=Kind.SLOW_BEFORE, value=0.5),
    Fault(kind=Kind.SLOW_AFTER, value=0.5),
]


@pytest.fixture(autouse=True)
def _short_pauses(monkeypatch):
    """The tries are the same; only the seconds between them are not lived through."""
    monkeypatch.setattr("bot.chat.discord.posting._PAUSES_S", (0.05, 0.05, 0.05))


@pytest.mark.parametrize("fault", _MATRIX, ids=lambda one: f"{one.kind} {one.value} {one.times}x")
async def test_a_fault_on_the_way_ends_in_one_message(stage, surface, fault):
    stage.discord.faults.add(fault)

    message_id = await surface.post(stage.card(), "nonce")

    assert [one.id for one in stage.posted()] == [message_id]
    assert stage.discord.faults.left == []


@pytest.mark.parametrize("kind", [Kind.RESET_BEFORE, Kind.RESET_AFTER])
async def test_a_posting_that_gave_up_is_made_good_in_the_next_life(stage, kind):
    card = stage.card()
    stage.discord.faults.add(Fault(kind=kind, times=4))
    async with stage.connected() as first:
        with pytest.raises(SurfaceUnavailable):
            await first.post(card, "nonce")

    async with stage.connected() as second:
        message_id = await second.post(card, "nonce")

    assert [one.id for one in stage.posted()] == [message_id]


async def test_a_message_that_arrived_unheard_is_found_long_after(stage):
    card = stage.card()
    stage.discord.faults.add(Fault(kind=Kind.RESET_AFTER, times=4))
    async with stage.connected() as first:
        with pytest.raises(SurfaceUnavailable):
            await first.post(card, "nonce")
    stage.discord.clock.skip(NONCE_WINDOW_S + 1)

    async with stage.connected() as second:
        found = await second.find(card)

    assert [one.id for one in stage.posted()] == [found]


async def test_what_is_not_there_is_not_found(stage, surface):
    yesterday, today = stage.card(), stage.card(title="another", key="c1 another day")
    await surface.post(yesterday, "nonce")

    assert await surface.find(today) is None


async def test_only_the_bots_own_message_counts(stage, surface):
    card = stage.card()
    await surface.post(card, "nonce")
    (message,) = stage.posted()
    message.author_id = stage.person("lark").user.id

    assert await surface.find(card) is None


async def test_a_busy_channel_is_looked_through_page_by_page(stage, surface):
    card = stage.card()
    await surface.post(card, "nonce")
    world = stage.discord.world
    (message,) = stage.posted()
    for _ in range(230):
        copy = type(message)(**vars(message) | {"id": world.new_id(), "body": {}, "nonce": None})
        world.messages[copy.id] = copy

    assert await surface.find(card) == message.id


async def test_a_channel_busier_than_is_looked_through_stays_in_doubt(stage, surface, monkeypatch):
    monkeypatch.setattr("bot.chat.discord.posting._LOOK_BACK", 200)
    card = stage.card()
    await surface.post(card, "nonce")
    world = stage.discord.world
    (message,) = stage.posted()
    for _ in range(240):
        copy = type(message)(**vars(message) | {"id": world.new_id(), "body": {}, "nonce": None})
        world.messages[copy.id] = copy

    with pytest.raises(SurfaceUnavailable, match="200"):
        await surface.find(card)


async def test_it_is_found_though_this_machines_clock_is_weeks_ahead(stage, surface):
    card = stage.card(on=(stage.services.clock.now() + timedelta(days=40)).date())
    message_id = await surface.post(card, "nonce")

    assert await surface.find(card) == message_id


async def test_a_long_history_before_the_day_is_not_looked_through(stage, surface):
    await surface.post(stage.card(), "nonce")
    world = stage.discord.world
    (message,) = stage.posted()
    for number in range(400):
        # Snowflakes of 2015, older than any school day.
        copy = type(message)(**vars(message) | {"id": str(number + 1), "body": {}, "nonce": None})
        copy.at -= 20 * 365 * 86400
        world.messages = {copy.id: copy, **world.messages}

    assert await surface.find(stage.card(key="another day")) is None
    assert len(stage.discord.calls("GET", _MESSAGES)) <= 2


async def test_without_the_history_it_posts_and_cannot_look(tmp_path):
    async with a_stage(tmp_path, permissions=WITHOUT_HISTORY) as stage:
        card = stage.card()
        async with stage.connected() as surface:
            message_id = await surface.post(card, "nonce")

            with pytest.raises(SurfaceUnavailable, match="history"):
                await surface.find(card)

        assert [one.id for one in stage.posted()] == [message_id]


@pytest.mark.parametrize(
    ("permissions", "key"),
    [
        (0, "discord.hidden_channel"),
        (VIEW_CHANNEL, "discord.may_not_post"),
        (VIEW_CHANNEL | SEND_MESSAGES | ATTACH_FILES, "discord.may_not_post"),
    ],
)
async def test_a_missing_right_is_named(tmp_path, permissions, key):
    async with a_stage(tmp_path, permissions=permissions) as stage, stage.connected() as surface:
        with pytest.raises(Refused) as refused:
            await surface.post(stage.card(), "nonce")

        assert refused.value.key == key
        assert stage.services.content.wording.has(key)
        with pytest.raises(SurfaceUnavailable):
            await surface.find(stage.card())


async def test_a_channel_that_is_gone_is_named(stage, surface):
    del stage.discord.world.channels[stage.channel.id]

    with pytest.raises(Refused, match="no_channel"):
        await surface.post(stage.card(), "nonce")


async def test_a_message_that_was_removed_at_once_is_not_put_up_again(stage, surface):
    card = stage.card()
    await surface.post(card, "nonce")
    stage.posted()[0].deleted = True

    with pytest.raises(Refused, match="message_removed"):
        await surface.post(card, "nonce")
    assert stage.posted() == []


async def test_a_ban_of_the_address_is_not_fought(stage, surface):
    stage.discord.faults.add(Fault(kind=Kind.BANNED))

    with pytest.raises(SurfaceUnavailable):
        await surface.post(stage.card(), "nonce")
    assert len(stage.discord.calls("POST", _MESSAGES)) == 1


async def test_an_answer_that_does_not_come_leaves_it_open(stage, surface, monkeypatch):
    monkeypatch.setattr("bot.chat.discord.posting.TRY_FOR_S", 0.3)
    stage.discord.faults.add(Fault(kind=Kind.SLOW_AFTER, value=2))

    with pytest.raises(SurfaceUnavailable, match="within"):
        await surface.post(stage.card(), "nonce")


async def test_two_choirs_with_one_nonce_still_get_a_message_each(stage, surface):
    other = a_choir("c2", "Period 5 Bass")
    channel = stage.discord.world.add_channel(stage.guild, "reading-5")
    await stage.add_choir(other)
    await stage.link(other, channel)

    await asyncio.gather(
        surface.post(stage.card(), "nonce"), surface.post(stage.card(choir=other), "nonce")
    )

    assert [len(stage.posted()), len(stage.posted(channel))] == [1, 1]


def test_a_nonce_is_as_long_as_discord_takes_and_belongs_to_one_channel():
    nonces = {channel_nonce("n", "1"), channel_nonce("n", "2"), channel_nonce("m", "1")}

    assert len(nonces) == 3
    assert {len(one) for one in nonces} == {25}
    assert channel_nonce("n", "1") == channel_nonce("n", "1")


async def test_a_choir_that_is_not_linked_is_posted_nowhere(tmp_path):
    async with a_stage(tmp_path, linked=False) as stage, stage.connected() as surface:
        with pytest.raises(Refused, match="not_open"):
            await surface.post(stage.card(), "nonce")
        assert stage.discord.world.messages == {}


async def test_before_the_line_stands_nothing_is_begun(stage):
    surface = stage.surface()

    with pytest.raises(SurfaceUnavailable):
        await surface.carried_since(stage.choir.id)
    with pytest.raises(SurfaceUnavailable):
        await surface.post(stage.card(), "nonce")
    with pytest.raises(SurfaceUnavailable):
        await surface.find(stage.card())
