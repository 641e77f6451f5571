"""Messages under the documented rules: limits, pictures in embeds, nonces, history."""

from __future__ import annotations

import pytest

from tests.standin.world import NONCE_WINDOW_S, VIEW_CHANNEL, WITHOUT_HISTORY

PICTURE = b"\x89PNG picture"


def _button(custom_id, label="Read it"):
    return {"type": 2, "style": 1, "custom_id": custom_id, "label": label}


def _row(*items):
    return {"type": 1, "components": list(items)}


async def test_a_sent_message_is_seen_by_everybody_and_stands_in_the_history(discord, api, channel):
    sent = await api("POST", f"/channels/{channel.id}/messages", {"content": "Today's line is up."})

    history = await api("GET", f"/channels/{channel.id}/messages")

    assert sent.status == 200
    assert [one["content"] for one in history.body] == ["Today's line is up."]
    assert len(discord.world.public_messages(channel.id)) == 1


@pytest.mark.parametrize(
    ("body", "said"),
    [
        ({"content": "x" * 2001}, "2000"),
        ({"embeds": [{"title": "x" * 256, "description": "x" * 3000}] * 2}, "6000"),
        ({"components": [_row(_button("a"), _button("a"))]}, "DUPLICATED"),
        ({"components": [_row(_button(f"b{n}")) for n in range(6)]}, "5 rows"),
        ({"embeds": [{"image": {"url": "attachment://absent.png"}}]}, "absent.png"),
        ({"content": ""}, "empty"),
        ({"content": "x", "flags": 1 << 15}, "classic"),
    ],
)
async def test_a_message_beyond_a_documented_limit_is_refused(api, channel, body, said):
    refused = await api("POST", f"/channels/{channel.id}/messages", body)

    assert refused.status == 400
    assert said in refused.body["message"]


async def test_what_the_description_forbids_is_refused_and_noted(discord, api, channel):
    if discord._openapi is None:
        pytest.skip("Discord's OpenAPI description is not on this machine")
    six = [_button(f"b{n}") for n in range(6)]

    refused = await api("POST", f"/channels/{channel.id}/messages", {"components": [_row(*six)]})
    long_id = _row(_button("x" * 101))
    too_long = await api("POST", f"/channels/{channel.id}/messages", {"components": [long_id]})
    nonce = await api(
        "POST", f"/channels/{channel.id}/messages", {"content": "a", "nonce": "n" * 26}
    )

    assert [refused.status, too_long.status, nonce.status] == [400, 400, 400]
    assert len(discord.violations) == 3


async def test_a_file_over_ten_mebibytes_is_too_large(api, channel):
    big = bytes(10 * 1024 * 1024 + 1)

    refused = await api("POST", f"/channels/{channel.id}/messages", {}, files={"big.mp3": big})

    assert (refused.status, refused.body["code"]) == (413, 40005)


async def test_a_picture_shown_in_an_embed_is_no_attachment_and_keeps_its_description(api, channel):
    body = {
        "embeds": [{"title": "Wednesday", "image": {"url": "attachment://line.png"}}],
        "attachments": [{"id": "0", "description": "four measures"}, {"id": "1"}],
    }

    sent = await api(
        "POST",
        f"/channels/{channel.id}/messages",
        body,
        files={"line.png": PICTURE, "key.mp3": b"sound"},
    )

    assert [one["filename"] for one in sent.body["attachments"]] == ["key.mp3"]
    image = sent.body["embeds"][0]["image"]
    assert image["url"].startswith("http") and image["description"] == "four measures"


async def test_a_file_name_outside_plain_letters_is_rewritten(api, channel):
    sent = await api("POST", f"/channels/{channel.id}/messages", {}, files={"naïve part.mp3": b"x"})

    assert sent.body["attachments"][0]["filename"] == "na_ve_part.mp3"


async def test_the_same_enforced_nonce_gives_the_first_message_again_in_any_channel(
    discord, api, guild, channel
):
    other = discord.world.add_channel(guild, "other")
    body = {"content": "once", "nonce": "n1", "enforce_nonce": True}

    first = await api("POST", f"/channels/{channel.id}/messages", body)
    second = await api("POST", f"/channels/{other.id}/messages", body)

    assert first.body["id"] == second.body["id"]
    assert len(discord.world.messages) == 1


async def test_a_nonce_is_forgotten_after_the_window_or_where_it_is_not_enforced(
    discord, api, channel
):
    body = {"content": "once", "nonce": "n1", "enforce_nonce": True}
    await api("POST", f"/channels/{channel.id}/messages", body)
    await api("POST", f"/channels/{channel.id}/messages", body | {"enforce_nonce": False})
    discord.clock.skip(NONCE_WINDOW_S + 1)
    await api("POST", f"/channels/{channel.id}/messages", body)

    assert len(discord.world.messages) == 3


async def test_the_nonce_of_a_deleted_message_posts_nothing(discord, api, channel):
    body = {"content": "once", "nonce": "n1", "enforce_nonce": True}
    first = await api("POST", f"/channels/{channel.id}/messages", body)
    await api("DELETE", f"/channels/{channel.id}/messages/{first.body['id']}")

    again = await api("POST", f"/channels/{channel.id}/messages", body)

    assert (again.status, again.body["code"]) == (404, 10008)
    assert discord.world.public_messages(channel.id) == []


async def test_without_history_the_list_is_empty_and_no_error(discord, api, guild, channel):
    await api("POST", f"/channels/{channel.id}/messages", {"content": "up"})
    guild.bot_role.permissions = WITHOUT_HISTORY

    history = await api("GET", f"/channels/{channel.id}/messages")

    assert (history.status, history.body) == (200, [])


async def test_a_hidden_channel_and_a_mute_bot_are_told_apart(discord, api, guild, channel):
    guild.bot_role.permissions = VIEW_CHANNEL
    mute = await api("POST", f"/channels/{channel.id}/messages", {"content": "up"})
    guild.bot_role.permissions = 0
    hidden = await api("POST", f"/channels/{channel.id}/messages", {"content": "up"})

    assert (mute.status, mute.body["code"]) == (403, 50013)
    assert (hidden.status, hidden.body["code"]) == (403, 50001)


async def test_an_edit_changes_what_it_names_and_keeps_the_rest(api, channel):
    sent = await api(
        "POST",
        f"/channels/{channel.id}/messages",
        {"content": "up", "components": [_row(_button("a"))]},
        files={"key.mp3": b"x"},
    )

    edited = await api(
        "PATCH", f"/channels/{channel.id}/messages/{sent.body['id']}", {"components": []}
    )

    assert edited.body["content"] == "up"
    assert edited.body["components"] == []
    assert [one["filename"] for one in edited.body["attachments"]] == ["key.mp3"]
    assert edited.body["edited_timestamp"] is not None


async def test_an_old_message_takes_three_edits_and_then_waits(discord, api, channel):
    sent = await api("POST", f"/channels/{channel.id}/messages", {"content": "up"})
    discord.clock.skip(3601)
    path = f"/channels/{channel.id}/messages/{sent.body['id']}"

    answers = [await api("PATCH", path, {"content": str(n)}) for n in range(4)]

    assert [one.status for one in answers] == [200, 200, 200, 429]
    assert answers[-1].body["code"] == 30046


async def test_a_wrong_token_is_turned_away(api, channel):
    refused = await api("GET", f"/channels/{channel.id}", token="wrong")

    assert refused.status == 401
