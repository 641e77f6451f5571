"""Private answers, at once or filled when ready, seen by nobody but the one who asked."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Awaitable, Callable
from typing import Any

import aiohttp
import discord

from bot.chat.discord.door import Call, Tagger, Throttle, call_of
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
_AT_ONCE_S = 1.8  # of the three seconds that Discord gives for a first answer


class Answers:
    """The one way in which presses, commands and forms are answered.

    Nothing is raised: the library would drop it with a log line, and the person would be left
    without an answer. Where we are strangers nothing is said.
    """

    def __init__(self, links: DiscordLinks, tag: Tagger, throttle: Throttle, say: Wording) -> None:
        self._links = links
        self._tag = tag
        self._throttle = throttle
        self._say = say

    async def give(self, interaction: discord.Interaction[Any], work: Work) -> None:
        """Acknowledge at once, then answer with what `work` makes of the call."""
        call = await self._call(interaction)
        if call is None or not await _open(interaction):
            return
        await _fill(interaction, await self._made(work, call))

    async def tell(self, interaction: discord.Interaction[Any], work: Work) -> None:
        """Answer in one piece, after all is kept that has to be; put it off where that takes long.

        The answer is the acknowledgement here: whoever sees it has been counted.
        """
        call = await self._call(interaction)
        if call is None:
            return
        making = asyncio.ensure_future(self._made(work, call))
        done, _ = await asyncio.wait({making}, timeout=_AT_ONCE_S)
        if done:
            await _reply(interaction, making.result())
        elif await _open(interaction):
            await _fill(interaction, await making)
        else:
            await making

    async def ask(self, interaction: discord.Interaction[Any], form: discord.ui.Modal) -> None:
        """Open a form. Its answer comes by its id, so the library keeps nothing of it."""
        call = await self._call(interaction)
        if call is None:
            return
        form.stop()
        if self._throttle.allows(call):
            await _tried(interaction, lambda: interaction.response.send_modal(form))
        else:
            await _reply(interaction, Sheet(line=self._say("discord.too_fast")))

    async def offer(
        self, interaction: discord.Interaction[Any], typed: str, work: Suggest
    ) -> list[discord.app_commands.Choice[str]]:
        """What to offer while an option is typed; an empty list where nothing can be."""
        try:
            call = await self._call(interaction)
            known = [] if call is None else await work(call)
        except Exception as error:
            # The library would log the person's id with an error that came through here.
            _log.info("no suggestions: %s", kind_of(error))
            return []
        fitting = [one for one in known if typed.strip().casefold() in one.casefold()]
        return [
            discord.app_commands.Choice(name=one[:_CHOICE_LIMIT], value=one[:_CHOICE_LIMIT])
            for one in fitting[:_CHOICES]
        ]

    async def _call(self, interaction: discord.Interaction[Any]) -> Call | None:
        place = await self._links.place(str(interaction.guild_id), str(interaction.channel_id))
        return await call_of(interaction, place.link, self._tag) if place.known else None

    async def _made(self, work: Work, call: Call) -> Sheet:
        if not self._throttle.allows(call):
            return Sheet(line=self._say("discord.too_fast"))
        try:
            return await work(call)
        except RiserbellError as error:
            return Sheet(line=sentence(error, self._say))
        except Exception as error:
            _log.exception("a command on Discord failed")
            return Sheet(line=sentence(error, self._say))


async def _open(interaction: discord.Interaction[Any]) -> bool:
    """Acknowledge within three seconds; False where it is too late to answer at all."""
    return await _tried(
        interaction, lambda: interaction.response.defer(ephemeral=True, thinking=True)
    )


async def _reply(interaction: discord.Interaction[Any], sheet: Sheet) -> bool:
    """The first answer with all that is to be said."""
    return await _tried(
        interaction,
        lambda: interaction.response.send_message(
            embed=embed_of(sheet), files=files_of(sheet), view=buttons_of(sheet), ephemeral=True
        ),
    )


async def _fill(interaction: discord.Interaction[Any], sheet: Sheet) -> None:
    """Put the answer in its place. Doing it twice changes nothing."""
    await _tried(
        interaction,
        lambda: interaction.edit_original_response(
            embed=embed_of(sheet), attachments=files_of(sheet), view=buttons_of(sheet)
        ),
    )


async def _tried(
    interaction: discord.Interaction[Any], answer: Callable[[], Awaitable[object]]
) -> bool:
    """Answer, again where the line was reset; False where it is too late, or the line is gone."""
    for pause in _PAUSES_S:
        try:
            await answer()
            return True
        except discord.HTTPException as error:
            if error.code == _ALREADY_ANSWERED:
                return True  # an earlier try arrived, and only its answer was lost
            _log.warning("an answer to Discord was not taken: %s", kind_of(error))
            return False
        except (aiohttp.ClientError, OSError) as error:
            if pause is None:
                _log.warning("an answer to Discord was lost: %s", kind_of(error))
                return False
            await asyncio.sleep(pause)
    return False
