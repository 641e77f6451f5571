"""Interactions: deadlines, one first answer, who sees it, what may follow."""

from __future__ import annotations

import pytest

from tests.standin.interactions import FIRST_ANSWER_S, TOKEN_S
from tests.standin.person import CommandHidden, Person, Unanswered

PRIVATE = 64


@pytest.fixture
def singer(discord, guild):
    return Person(discord, guild, "lark")


@pytest.fixture
def press(discord, singer, channel):
    """A press of which the test itself plays the bot."""
    return discord.interactions.open(3, singer.user, channel.id, None)


def _callback(one):
    return f"/interactions/{one.id}/{one.token}/callback"


def _hook(discord, one):
    return f"/webhooks/{discord.world.application_id}/{one.token}"


async def test_a_private_answer_is_seen_by_that_person_alone(
    discord, api, guild, channel, singer, press
):
    answered = await api(
        "POST", _callback(press), {"type": 4, "data": {"content": "yes", "flags": 64}}
    )
    other = Person(discord, guild, "wren")
    history = await api("GET", f"/channels/{channel.id}/messages")

    assert answered.status == 204
    assert [one.body["content"] for one in singer.sees(channel)] == ["yes"]
    assert other.sees(channel) == []
    assert history.body == []


async def test_the_first_answer_is_due_within_three_seconds(discord, api, press):
    discord.clock.skip(FIRST_ANSWER_S + 0.1)

    late = await api("POST", _callback(press), {"type": 4, "data": {"content": "late"}})

    assert (late.status, late.body["code"]) == (404, 10062)


async def test_there_is_one_first_answer(api, press):
    await api("POST", _callback(press), {"type": 5})

    second = await api("POST", _callback(press), {"type": 5})

    assert (second.status, second.body["code"]) == (400, 40060)


async def test_a_deferred_answer_keeps_the_privacy_it_was_deferred_with(
    discord, api, channel, singer, press
):
    await api("POST", _callback(press), {"type": 5, "data": {"flags": PRIVATE}})

    await api("PATCH", _hook(discord, press) + "/messages/@original", {"content": "ready"})

    assert press.original.only_for == singer.user.id
    assert press.complete.is_set()


async def test_the_token_lives_fifteen_minutes(discord, api, press):
    await api("POST", _callback(press), {"type": 5})
    discord.clock.skip(TOKEN_S + 1)

    late = await api("PATCH", _hook(discord, press) + "/messages/@original", {"content": "late"})

    assert (late.status, late.body["code"]) == (401, 50027)


async def test_before_the_first_answer_there_is_no_webhook(discord, api, press):
    early = await api("POST", _hook(discord, press), {"content": "early"})

    assert (early.status, early.body["code"]) == (404, 10015)


async def test_the_first_follow_up_fills_a_deferred_place_and_the_next_stands_alone(
    discord, api, channel, press
):
    await api("POST", _callback(press), {"type": 5})

    await api("POST", _hook(discord, press), {"content": "one"})
    await api("POST", _hook(discord, press), {"content": "two", "flags": PRIVATE})

    assert press.original.body["content"] == "one"
    assert [one.only_for for one in press.follow_ups] == [press.user.id]


async def test_a_press_can_change_the_message_that_carries_the_button(
    discord, api, channel, singer
):
    button = {"type": 2, "style": 1, "custom_id": "a", "label": "Read it"}
    body = {"content": "up", "components": [{"type": 1, "components": [button]}]}
    sent = await api("POST", f"/channels/{channel.id}/messages", body)
    message = discord.world.messages[sent.body["id"]]
    press = discord.interactions.open(3, singer.user, channel.id, message)

    await api("POST", _callback(press), {"type": 7, "data": {"components": []}})

    assert message.body["components"] == []
    with pytest.raises(AssertionError, match="no button"):
        message.button("Read it")


async def test_a_bot_that_is_away_leaves_the_person_without_an_answer(
    discord, channel, singer, monkeypatch
):
    monkeypatch.setattr("tests.standin.person.FIRST_ANSWER_S", -0.4)
    discord.world.commands = [{"id": "5", "name": "about", "type": 1, "options": []}]

    with pytest.raises(Unanswered):
        await singer.run(channel, "/about")


async def test_a_command_for_managers_is_hidden_from_others(discord, guild, channel, singer, api):
    command = {"name": "desk", "description": "d", "default_member_permissions": 32}
    app = discord.world.application_id
    stored = await api("PUT", f"/applications/{app}/commands", [command])
    manager = Person(discord, guild, "head", manages=True)

    assert stored.body[0]["default_member_permissions"] == "32"
    assert (singer.commands(), manager.commands()) == ([], ["/desk"])
    with pytest.raises(CommandHidden):
        await singer.run(channel, "/desk")


async def test_an_emoji_of_the_app_is_kept_within_its_limits(discord, api):
    app = discord.world.application_id
    image = "data:image/png;base64,iVBORw0KGgo="

    made = await api("POST", f"/applications/{app}/emojis", {"name": "sign_do", "image": image})
    listed = await api("GET", f"/applications/{app}/emojis")

    assert made.status == 201
    assert [one["name"] for one in listed.body["items"]] == ["sign_do"]


async def test_a_server_that_was_left_is_gone(discord, api, guild, channel):
    left = await api("DELETE", f"/users/@me/guilds/{guild.id}")
    after = await api("GET", f"/channels/{channel.id}")

    assert (left.status, after.status) == (204, 404)
    assert discord.world.left == [guild.id]
