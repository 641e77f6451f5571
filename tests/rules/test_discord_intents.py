"""Discord with the least that it may ask for, read off the code itself."""

from __future__ import annotations

import ast
from pathlib import Path

import discord
import pytest

from bot.chat.discord.client import intents
from bot.chat.discord.invite import application_of, invite_link, permission_number

_FOLDER = Path(__file__).resolve().parents[2] / "bot/chat/discord"
_DOOR = {"door.py"}
_OF_A_PERSON = {
    "nick", "display_name", "global_name", "avatar", "display_avatar", "mention", "joined_at",
    "fetch_member", "fetch_members", "fetch_user", "get_member", "query_members", "create_dm",
    "users", "members",
}  # fmt: skip


def _attributes():
    for file in sorted(_FOLDER.glob("*.py")):
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Attribute):
                yield file.name, node


def test_the_only_intent_is_guilds():
    asked = [name for name, on in intents() if on]

    assert asked == ["guilds"]


def test_intents_are_built_in_one_place():
    built = [name for name, node in _attributes() if node.attr == "Intents"]

    assert built == ["client.py", "client.py"]  # once as a type, once to build


def test_the_permissions_are_five_and_four_without_the_history():
    assert permission_number() == 117760
    assert permission_number(history=False) == 52224
    granted = [name for name, on in discord.Permissions(52224) if on]
    assert granted == ["read_messages", "send_messages", "embed_links", "attach_files"]


def test_the_invitation_is_to_a_server_and_asks_for_that_number():
    link = invite_link(1234567890)

    assert "client_id=1234567890" in link
    assert "permissions=117760" in link
    assert "integration_type=0" in link
    assert "scope=bot+applications.commands" in link


@pytest.mark.parametrize(
    ("token", "application"),
    [("MTIzNDU2Nzg5MA.Gx.rest", 1234567890), ("no token", None), ("", None), ("é.x.y", None)],
)
def test_a_token_names_its_application(token, application):
    assert application_of(token) == application


def test_nothing_about_a_person_is_asked_for():
    asked = [(name, node.attr) for name, node in _attributes() if node.attr in _OF_A_PERSON]

    assert asked == []


def test_only_the_door_sees_who_it_was():
    seen = {
        name
        for name, node in _attributes()
        if node.attr == "user"
        and isinstance(node.value, ast.Name)
        and node.value.id == "interaction"
    }

    assert seen == _DOOR
