"""The school's word for a channel: what a call needs before anything is shown or kept there."""

from __future__ import annotations

from bot.chat.discord.door import Call
from bot.errors import Refused
from bot.service.discord_gate import Opening
from bot.service.services import Services


async def opening_for(
    call: Call, services: Services, *, unlinked: str = "discord.not_linked"
) -> Opening:
    """The opening of the caller's channel today.

    Refused(unlinked), Refused("discord.not_open") where no sheet opens this channel.
    """
    if call.link is None:
        raise Refused(unlinked)
    opening = await services.seating.gate.open_for(call.link.choir_id)
    if opening is None or opening.link.channel_id != call.channel_id:
        raise Refused("discord.not_open")
    return opening
