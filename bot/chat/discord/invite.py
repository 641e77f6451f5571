"""What the bot asks of a server, as one number, and the link that asks for it."""

from __future__ import annotations

import base64
import binascii
from urllib.parse import urlencode

import discord

# View the channel, write there, with a picture and sounds, and find its own message after a crash.
PERMISSIONS = discord.Permissions(
    view_channel=True,
    send_messages=True,
    embed_links=True,
    attach_files=True,
    read_message_history=True,
)


def permission_number(*, history: bool = True) -> int:
    """The number that a server's administrator sees: 117760, or 52224 without the history."""
    if history:
        return PERMISSIONS.value
    return PERMISSIONS.value & ~discord.Permissions(read_message_history=True).value


def invite_link(application_id: int, *, history: bool = True) -> str:
    """The address with which somebody who manages a server adds the bot to that server."""
    asked = {
        "client_id": application_id,
        "permissions": permission_number(history=history),
        "integration_type": 0,  # installed to a server, never to a person
        "scope": "bot applications.commands",
    }
    return f"https://discord.com/oauth2/authorize?{urlencode(asked)}"


def application_of(token: str) -> int | None:
    """The application's id, which is the first part of its token; None for another text."""
    head = token.partition(".")[0]
    try:
        text = base64.urlsafe_b64decode(head + "=" * (-len(head) % 4)).decode("ascii")
    except (binascii.Error, UnicodeDecodeError, ValueError):
        return None
    return int(text) if text.isdigit() else None
