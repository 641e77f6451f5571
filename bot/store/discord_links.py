"""Which Discord channel carries which choir, as rows; the codes that link them, as hashes."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from sqlite3 import Row

from bot.store.database import Snapshot, Transaction


@dataclass(frozen=True, slots=True, kw_only=True)
class DiscordLink:
    """One choir's place on Discord. The ids are those of a server, a channel and a role there.

    `linked_on` is the choir's local date.
    """

    choir_id: str
    guild_id: str
    channel_id: str
    director_role_id: str
    linked_on: date


async def all_links(read: Snapshot) -> tuple[DiscordLink, ...]:
    """Every link."""
    rows = await read.rows("SELECT * FROM discord_links ORDER BY choir_id")
    return tuple(_link(row) for row in rows)


async def link_of_choir(read: Snapshot, choir_id: str) -> DiscordLink | None:
    """Where a choir's cards go up, None where it is not linked."""
    row = await read.row("SELECT * FROM discord_links WHERE choir_id = ?", choir_id)
    return None if row is None else _link(row)


async def link_in_channel(read: Snapshot, channel_id: str) -> DiscordLink | None:
    """Which choir a channel belongs to."""
    row = await read.row("SELECT * FROM discord_links WHERE channel_id = ?", channel_id)
    return None if row is None else _link(row)


async def keep_link(change: Transaction, link: DiscordLink) -> None:
    """Keep a link in place of the one that the choir had."""
    await drop_link(change, link.choir_id)
    await change.insert(
        "discord_links",
        {
            "choir_id": link.choir_id,
            "guild_id": link.guild_id,
            "channel_id": link.channel_id,
            "director_role_id": link.director_role_id,
            "linked_on": link.linked_on.isoformat(),
        },
    )


async def drop_link(change: Transaction, choir_id: str) -> bool:
    """Forget a choir's link; False where there was none."""
    return await change.delete("discord_links", {"choir_id": choir_id}) > 0


async def keep_code(
    change: Transaction, choir_id: str, code_hash: str, expires_at: datetime
) -> None:
    """Keep a code in place of the choir's earlier one."""
    await drop_code(change, choir_id)
    await change.insert(
        "discord_link_codes",
        {
            "choir_id": choir_id,
            "code_hash": code_hash,
            "expires_at": expires_at.isoformat(timespec="seconds"),
        },
    )


async def drop_code(change: Transaction, choir_id: str) -> None:
    """Forget a choir's code."""
    await change.delete("discord_link_codes", {"choir_id": choir_id})


async def codes(read: Snapshot) -> tuple[tuple[str, str, datetime], ...]:
    """(choir id, hash, end of its life) of every code, expired ones too."""
    rows = await read.rows("SELECT * FROM discord_link_codes")
    return tuple(
        (row["choir_id"], row["code_hash"], datetime.fromisoformat(row["expires_at"]))
        for row in rows
    )


async def commands_digest(read: Snapshot) -> str | None:
    """What was last registered as this app's commands, None for nothing yet."""
    row = await read.row("SELECT commands_digest FROM discord_app")
    return None if row is None else str(row["commands_digest"])


async def keep_commands_digest(change: Transaction, digest: str) -> None:
    """Note what is registered now."""
    await change.delete("discord_app", {"only": 1})
    await change.insert("discord_app", {"only": 1, "commands_digest": digest})


def _link(row: Row) -> DiscordLink:
    return DiscordLink(
        choir_id=row["choir_id"],
        guild_id=row["guild_id"],
        channel_id=row["channel_id"],
        director_role_id=row["director_role_id"],
        linked_on=date.fromisoformat(row["linked_on"]),
    )
