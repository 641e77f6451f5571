"""Linking a choir with its Discord channel: a code from the desk, typed once in the channel."""

from __future__ import annotations

import hashlib
import hmac
import secrets
from collections import defaultdict, deque
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

from bot.activities.calendar import local_day
from bot.errors import Refused
from bot.service.changes import Changes
from bot.service.clock import Clock
from bot.store import discord_links as rows
from bot.store.choirs import find_choir
from bot.store.database import Database
from bot.store.discord_links import DiscordLink
from bot.store.remembered import Remembered
from bot.store.seat_links import drop_choirs_accounts

CODE_LIFE = timedelta(hours=24)
_ALPHABET = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"  # Crockford's base 32: no I, L, O, U to mistake
_CODE_LENGTH = 8  # 40 bits, alive for a day, five tries an hour
_READ_AS = str.maketrans("OIL", "011")
_WRONG_TRIES = 5
_TRIES_SPAN = timedelta(hours=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class LinkCode:
    """A code to show at the desk; it works once, until `expires_at` (aware, UTC)."""

    text: str
    expires_at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """`known`: the bot has business in this server. `link`: the choir of this very channel."""

    known: bool
    link: DiscordLink | None


class DiscordLinks:
    """Every choir has at most one channel, every channel at most one choir.

    A server is known while a choir is linked there; while a code waits to be used, any server may
    turn out to be the right one.
    """

    def __init__(self, database: Database, clock: Clock, changes: Changes) -> None:
        self._database = database
        self._clock = clock
        self._changes = changes
        self._known: Remembered[None, tuple[Mapping[str, DiscordLink], tuple[datetime, ...]]] = (
            Remembered(database)
        )
        self._wrong: defaultdict[str, deque[datetime]] = defaultdict(deque)

    async def all(self) -> tuple[DiscordLink, ...]:
        """Every link."""
        async with self._database.snapshot() as read:
            return await rows.all_links(read)

    async def of_choir(self, choir_id: str) -> DiscordLink | None:
        """Where a choir's cards go up, None where it is not linked."""
        async with self._database.snapshot() as read:
            return await rows.link_of_choir(read, choir_id)

    async def place(self, guild_id: str, channel_id: str) -> Place:
        """What the bot has to do with a channel of a server."""
        links, codes = await self._known.get(None, self._look)
        link = links.get(channel_id)
        if link is not None and link.guild_id == guild_id:
            return Place(known=True, link=link)
        waits = any(expires_at > self._clock.now() for expires_at in codes)
        known = waits or any(one.guild_id == guild_id for one in links.values())
        return Place(known=known, link=None)

    async def _look(self) -> tuple[Mapping[str, DiscordLink], tuple[datetime, ...]]:
        """Links by channel, and when each code that waits runs out."""
        async with self._database.snapshot() as read:
            links = {link.channel_id: link for link in await rows.all_links(read)}
            return links, tuple(expires_at for _, _, expires_at in await rows.codes(read))

    async def new_code(self, choir_id: str) -> LinkCode:
        """A code for a choir, in place of its earlier one; Refused("choir.unknown")."""
        plain = "".join(secrets.choice(_ALPHABET) for _ in range(_CODE_LENGTH))
        expires_at = self._clock.now() + CODE_LIFE
        async with self._database.transaction() as change:
            if await find_choir(change, choir_id) is None:
                raise Refused("choir.unknown", choir=choir_id)
            await rows.keep_code(change, choir_id, _hash(plain), expires_at)
        return LinkCode(text=f"{plain[:4]}-{plain[4:]}", expires_at=expires_at)

    async def link(
        self, code: str, *, guild_id: str, channel_id: str, director_role_id: str
    ) -> DiscordLink:
        """Use a code up in a channel.

        Refused("discord.code_wrong"), Refused("discord.code_wait") after five wrong ones within an
        hour in one server, Refused("discord.channel_taken").
        """
        self._check_tries(guild_id)
        async with self._database.transaction() as change:
            choir_id = _choir_for(code, await rows.codes(change), self._clock.now())
            choir = None if choir_id is None else await find_choir(change, choir_id)
            if choir is None:
                self._wrong[guild_id].append(self._clock.now())
                raise Refused("discord.code_wrong")
            taken = await rows.link_in_channel(change, channel_id)
            if taken is not None and taken.choir_id != choir.id:
                raise Refused("discord.channel_taken")
            made = DiscordLink(
                choir_id=choir.id,
                guild_id=guild_id,
                channel_id=channel_id,
                director_role_id=director_role_id,
                linked_on=local_day(self._clock.now(), choir.zone),
            )
            await rows.drop_code(change, choir.id)
            before = await rows.link_of_choir(change, choir.id)
            if before is not None and before.guild_id != guild_id:
                # A tag is of one server; in another one it is nobody's.
                await drop_choirs_accounts(change, choir.id)
            await rows.keep_link(change, made)
        self._changes.ring()
        return made

    async def unlink(self, choir_id: str) -> None:
        """Post a choir's readings on Discord no more, and forget the accounts at its seats."""
        async with self._database.transaction() as change:
            await drop_choirs_accounts(change, choir_id)
            await rows.drop_link(change, choir_id)
            await rows.drop_code(change, choir_id)
        self._changes.ring()

    def look_again(self) -> None:
        """A sheet came or went: let whoever posts look at every choir again."""
        self._changes.ring()

    async def drop_old_codes(self) -> None:
        """Delete codes whose day is over."""
        async with self._database.transaction() as change:
            for choir_id, _, expires_at in await rows.codes(change):
                if expires_at <= self._clock.now():
                    await rows.drop_code(change, choir_id)

    async def commands_digest(self) -> str | None:
        """What was last registered as the app's commands."""
        async with self._database.snapshot() as read:
            return await rows.commands_digest(read)

    async def keep_commands_digest(self, digest: str) -> None:
        """Note what is registered now."""
        async with self._database.transaction() as change:
            await rows.keep_commands_digest(change, digest)

    def _check_tries(self, guild_id: str) -> None:
        wrong = self._wrong[guild_id]
        while wrong and wrong[0] <= self._clock.now() - _TRIES_SPAN:
            wrong.popleft()
        if len(wrong) >= _WRONG_TRIES:
            raise Refused("discord.code_wait")


def _choir_for(
    code: str, codes: tuple[tuple[str, str, datetime], ...], now: datetime
) -> str | None:
    """The choir whose living code this is; every code is compared, found or not."""
    given = _hash("".join(code.upper().translate(_READ_AS).split()).replace("-", ""))
    found = None
    for choir_id, code_hash, expires_at in codes:
        if hmac.compare_digest(given, code_hash) and expires_at > now:
            found = choir_id
    return found


def _hash(plain: str) -> str:
    return hashlib.sha256(f"riserbell link code {plain}".encode()).hexdigest()
