"""Every kind of button: what its press does, and whether the answer comes in one piece.

A button lives as long as its message, so each kind here is there for good; a kind that is no longer
used gets an answer in words.
"""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Mapping
from typing import Any

import discord

from bot.chat.discord.answer import Answers
from bot.chat.discord.door import Call
from bot.chat.discord.playful_work import PlayfulWork
from bot.chat.discord.read_work import ReadWork
from bot.chat.discord.seat_work import CODE_FIELD, SeatWork
from bot.chat.discord.sheet import HEAR, NAME, PART, READ, SEAT, TERM, VOTE, Press, Sheet
from bot.errors import Refused
from bot.wording import Wording

SEAT_FORM = "rb1.seat"
_CODE_LENGTH = 20  # room for hyphens and blanks

Pressed = Callable[[Call, Press], Awaitable[Sheet]]


class Presses:
    """The table of kinds.

    `given` are acknowledged first and filled later (pictures, sounds); `told` are answered in one
    piece, after what has to be kept is kept.
    """

    def __init__(
        self,
        answers: Answers,
        read: ReadWork,
        playful: PlayfulWork,
        seats: SeatWork,
        say: Wording,
    ) -> None:
        self._answers = answers
        self._seats = seats
        self._say = say
        self._given: Mapping[str, Pressed] = {
            PART: read.pressed,
            HEAR: read.heard,
            TERM: read.term,
            NAME: playful.named,
        }
        self._told: Mapping[str, Pressed] = {READ: seats.read, VOTE: seats.vote}

    async def press(self, interaction: discord.Interaction[Any], press: Press) -> None:
        """Do what a button says."""
        if press.kind == SEAT:
            await self._answers.ask(interaction, self._seat_form())
        elif (work := self._given.get(press.kind)) is not None:
            await self._answers.give(interaction, _of(work, press))
        else:
            work = self._told.get(press.kind, _gone)
            await self._answers.tell(interaction, _of(work, press))

    async def form(
        self, interaction: discord.Interaction[Any], form_id: str, texts: Mapping[str, str]
    ) -> None:
        """A form was sent in."""
        if form_id == SEAT_FORM:
            await self._answers.give(interaction, lambda call: self._seats.take(call, texts))

    def _seat_form(self) -> discord.ui.Modal:
        form = discord.ui.Modal(title=self._say("link.button"), custom_id=SEAT_FORM)
        field: discord.ui.TextInput[Any] = discord.ui.TextInput(
            label=self._say("link.code"), custom_id=CODE_FIELD, max_length=_CODE_LENGTH
        )
        return form.add_item(field)


def _of(work: Pressed, press: Press) -> Callable[[Call], Awaitable[Sheet]]:
    return lambda call: work(call, press)


async def _gone(call: Call, press: Press) -> Sheet:
    raise Refused("discord.old_button")
