"""Private answers: opened at once, filled when ready, seen by nobody but the one who asked."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Awaitable, Callable
from typing import Any

import aiohttp
import discord

from bot.chat.discord.door import Call, Throttle, call_of
from bot.chat.discord.message import buttons_of, embed_of, files_of
from bot.chat.discord.posting import kind_of
from bot.chat.discord.sheet import Sheet
from bot.errors import RiserbellError
from bot.service.discord_links import DiscordLinks
from bot.service.troubles import sentence
from bot.wording import Wording

_log = logging.getLogger(__name__)

Work = Callable[[Call], Awaitable[Sheet]]
Suggest = Callable[[Call], Awaitable[list[str]]]
_CHOICES, _CHOICE_LIMIT = 25, 100  # what a list of suggestions may hold (documented)
_ALREADY_ANSWERED = 40060
_PAUSES_S = (0.2, 0.5, None)


class Answers:
    """The one way in which presses and commands are answered."""

    def __init__(self, links: DiscordLinks, throttle: Throttle, say: Wording) -> None:
        self._links = links
        self._throttle = throttle
        self._say = say

    async def give(self, interaction: discord.Interaction[Any], work: Work) -> None:
        """Answer privately with what `work` makes of the call; nothing where we are strangers.

        Nothing is raised: the library would drop it with a log line, and the person would be left
        without an answer.
        """
        place = await self._links.place(str(interaction.guild_id), str(interaction.channel_id))
        call = call_of(interaction, place.link)
        if call is None or not place.known:
            return
        if not await _open(interaction):
            return
        sheet = Sheet(line=self._say("discord.too_fast"))
        if self._throttle.allows(interaction):
            sheet = await self._made(work, call)
        await _fill(interaction, sheet)

    async def offer(
        self, interaction: discord.Interaction[Any], typed: str, work: Suggest
    ) -> list[discord.app_commands.Choice[str]]:
        """What to offer while an option is typed; an empty list where nothing can be."""
        try:
            place = await self._links.place(str(interaction.guild_id), str(interaction.channel_id))
            call = call_of(interaction, place.link)
            known = [] if call is None or not place.known else await work(call)
        except Exception as error:
            # The library would log the person's id with an error that came through here.
            _log.info("no suggestions: %s", kind_of(error))
            return []
        fitting = [one for one in known if typed.strip().casefold() in one.casefold()]
        return [
            discord.app_commands.Choice(name=one[:_CHOICE_LIMIT], value=one[:_CHOICE_LIMIT])
            for one in fitting[:_CHOICES]
        ]

    async def _made(self, work: Work, call: Call) -> Sheet:
        try:
            return await work(call)
        except RiserbellError as error:
            return Sheet(line=sentence(error, self._say))
        except Exception as error:
            _log.exception("a command on Discord failed")
            return Sheet(line=sentence(error, self._say))


async def _open(interaction: discord.Interaction[Any]) -> bool:
    """Acknowledge within three seconds; False where it is too late to answer at all."""
    for pause in _PAUSES_S:
        try:
            await interaction.response.defer(ephemeral=True, thinking=True)
            return True
        except discord.HTTPException as error:
            if error.code == _ALREADY_ANSWERED:
                return True  # an earlier try arrived, and only its answer was lost
            _log.warning("an answer to Discord came too late: %s", kind_of(error))
            return False
        except (aiohttp.ClientError, OSError) as error:
            if pause is None:
                _log.warning("an answer to Discord was lost: %s", kind_of(error))
                return False
            await asyncio.sleep(pause)
    return False


async def _fill(interaction: discord.Interaction[Any], sheet: Sheet) -> None:
    """Put the answer in its place. Doing it twice changes nothing, so it is tried again."""
    for pause in _PAUSES_S:
        try:
            await interaction.edit_original_response(
                embed=embed_of(sheet), attachments=files_of(sheet), view=buttons_of(sheet)
            )
            return
        except discord.HTTPException as error:
            _log.warning("an answer to Discord was not taken: %s", kind_of(error))
            return
        except (aiohttp.ClientError, OSError) as error:
            if pause is None:
                _log.warning("an answer to Discord was lost: %s", kind_of(error))
                return
            await asyncio.sleep(pause)
