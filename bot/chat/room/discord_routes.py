"""Every address about Discord: the desk's page of a choir, a seat's code, the policy."""

from __future__ import annotations

from bot.chat.room import discord_desk, seat_link
from bot.chat.room.safety import Handler

_CHOIR = "/desk/choir/{choir:[A-Za-z0-9_-]{1,64}}"

OPEN_PAGES: tuple[tuple[str, Handler], ...] = (("/notice/discord", discord_desk.policy_page),)

OPEN_CHANGES: tuple[tuple[str, Handler], ...] = (
    ("/seat/link", seat_link.new_code),
    ("/seat/unlink", seat_link.unlink),
)

DESK_PAGES: tuple[tuple[str, Handler], ...] = ((f"{_CHOIR}/discord", discord_desk.discord_page),)

DESK_CHANGES: tuple[tuple[str, Handler], ...] = (
    (f"{_CHOIR}/discord/code", discord_desk.new_code),
    (f"{_CHOIR}/discord/unlink", discord_desk.unlink),
)
