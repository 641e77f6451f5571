"""One message, once: own retries under one nonce, and every outcome in the service's words."""

from __future__ import annotations

import asyncio
import base64
import hashlib
import logging
from collections.abc import Awaitable, Callable
from datetime import datetime
from typing import TypeVar

import aiohttp
import discord

from bot.chat.discord.message import buttons_of, embed_of, files_of, marks_in
from bot.chat.discord.sheet import Sheet
from bot.errors import Refused, SurfaceUnavailable

_log = logging.getLogger(__name__)
_T = TypeVar("_T")

NONCE_LENGTH = 25  # the longest that Discord takes
# Discord remembers a nonce for "a few minutes": whatever is tried again is over well before. The
# service gives a surface half a minute for one call.
TRY_FOR_S = 25.0
_PAUSES_S = (0.5, 2.0, 5.0)
_PAGE, _LOOK_BACK = 100, 500  # messages; the channel is meant for the bot alone

# Discord's own codes for a refusal (its documentation, "JSON Error Codes").
_REFUSALS = {
    50001: "discord.hidden_channel",
    50013: "discord.may_not_post",
    10003: "discord.no_channel",
    10008: "discord.message_removed",
}


def channel_nonce(nonce: str, channel_id: str) -> str:
    """A nonce for one channel: Discord compares nonces over all channels of a bot."""
    digest = hashlib.sha256(f"{nonce}/{channel_id}".encode()).digest()
    return base64.b32encode(digest).decode().lower()[:NONCE_LENGTH]


async def send_once(channel: discord.abc.Messageable, sheet: Sheet, nonce: str) -> str:
    """Send a sheet and return the message's id; the same nonce gives the same message.

    The library tries again on 5xx answers, but on Linux not on a connection that was reset, and its
    own nonce changes with each call: so the tries here share one. SurfaceUnavailable where it is
    not known whether the message arrived, Refused where Discord will not take it.
    """

    async def send() -> str:
        message = await channel.send(
            embed=embed_of(sheet), files=files_of(sheet), view=buttons_of(sheet), nonce=nonce
        )
        return str(message.id)

    return await _until_known(send)


async def renew_once(message: discord.PartialMessage, sheet: Sheet) -> None:
    """Let a message say what a sheet says, its files sent anew; faults as for `send_once`."""

    async def renew() -> None:
        # The library leaves out the client's own word about mentions where a message is known by
        # its id alone.
        await message.edit(
            embed=embed_of(sheet),
            attachments=files_of(sheet),
            view=buttons_of(sheet),
            allowed_mentions=discord.AllowedMentions.none(),
        )

    await _until_known(renew)


async def _until_known(attempt: Callable[[], Awaitable[_T]]) -> _T:
    """What an attempt gives, tried again for a while where nothing is known of it."""
    try:
        async with asyncio.timeout(TRY_FOR_S):
            return await _try_until_known(attempt)
    except TimeoutError as error:
        raise SurfaceUnavailable(f"Discord gave no answer within {TRY_FOR_S:.0f} s") from error


async def _try_until_known(attempt: Callable[[], Awaitable[_T]]) -> _T:
    for pause in (*_PAUSES_S, None):
        try:
            return await attempt()
        except (discord.DiscordServerError, aiohttp.ClientError, OSError) as error:
            if pause is None:
                raise SurfaceUnavailable(f"Discord did not answer: {kind_of(error)}") from error
            _log.info("a message to Discord met %s; trying again", kind_of(error))
            await asyncio.sleep(pause)
        except discord.RateLimited as error:
            raise SurfaceUnavailable("Discord asks to wait too long") from error
        except discord.HTTPException as error:
            raise refusal_of(error) from error
    raise AssertionError("unreachable: the last try returns or raises")


def kind_of(error: Exception) -> str:
    """A fault by its kind alone: texts of faults may hold addresses and ids."""
    status = getattr(error, "status", None)
    return f"{type(error).__name__} {status}" if isinstance(status, int) else type(error).__name__


def refusal_of(error: discord.HTTPException) -> Refused | SurfaceUnavailable:
    """A refusal by Discord in the service's words."""
    if error.status in (401, 429):
        return SurfaceUnavailable(f"Discord answered {error.status}")
    if error.code in _REFUSALS:
        return Refused(_REFUSALS[error.code])
    return Refused("discord.not_taken", status=error.status, code=error.code)


async def find_marked(
    channel: discord.abc.Messageable, bot_id: int, mark: str, since: datetime
) -> str | None:
    """The id of the bot's own message that carries a mark, looked for from now back to `since`.

    A page is looked through in any case: this machine's clock may be wrong, and `since` with it.
    SurfaceUnavailable where the history cannot be read, or is longer than is looked through.
    """
    seen = 0
    try:
        async for message in channel.history(limit=_LOOK_BACK):
            seen += 1
            if message.author.id == bot_id and mark in marks_in(message.components):
                return str(message.id)
            if seen >= _PAGE and message.created_at < since:
                return None
    except (discord.HTTPException, discord.RateLimited, aiohttp.ClientError, OSError) as error:
        raise SurfaceUnavailable(f"the channel cannot be read: {kind_of(error)}") from error
    if seen >= _LOOK_BACK:
        raise SurfaceUnavailable(f"not among the last {_LOOK_BACK} messages of the channel")
    return None
