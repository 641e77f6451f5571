"""What the director's commands do. Each calls the same use case as the desk in the room."""

from __future__ import annotations

from datetime import date

from bot.chat.discord.door import Call
from bot.chat.discord.sheet import Sheet
from bot.chat.discord.sheets import Sheets
from bot.errors import Refused
from bot.service.readings import Upcoming, UpcomingState
from bot.service.services import Services

_OFFERED_DAYS = 5
_OPEN = (UpcomingState.PLANNED, UpcomingState.READY)


class DeskWork:
    """Every method checks the caller's right itself, whatever Discord shows to whom."""

    def __init__(self, services: Services, sheets: Sheets) -> None:
        self._services = services
        self._sheets = sheets
        self._say = services.content.wording

    async def preview(self, call: Call, day: str | None) -> Sheet:
        """The reading of a coming day as the class will see it."""
        choir_id = self._choir_directed_by(call)
        card = await self._services.readings.preview(choir_id, await self._day(choir_id, day))
        return await self._sheets.for_class(card, preview=True)

    async def redraw(self, call: Call, day: str | None) -> Sheet:
        """Another line for a coming day."""
        choir_id = self._choir_directed_by(call)
        card = await self._services.readings.redraw(choir_id, await self._day(choir_id, day))
        return await self._sheets.for_class(card, preview=True)

    async def post(self, call: Call) -> Sheet:
        """Put today's line up now, in the room and wherever else the choir is met."""
        choir_id = self._choir_directed_by(call)
        await self._services.readings.post_now(choir_id)
        if await self._services.seating.gate.open_for(choir_id) is None:
            return Sheet(line=self._say("discord.posted_elsewhere"))
        return Sheet(line=self._say("discord.posted"))

    async def plan(self, call: Call) -> Sheet:
        """The coming days with their lines, as far as they are drawn."""
        choir_id = self._choir_directed_by(call)
        coming = await self._services.readings.upcoming(choir_id, _OFFERED_DAYS)
        say = self._say
        lines = [
            say("discord.plan_day", day=say.date(one.on), title=one.title, summary=one.summary)
            for one in coming
        ]
        return Sheet(
            title=say("discord.plan_title"), line="\n".join(lines) or say("discord.no_day")
        )

    async def status(self, call: Call) -> Sheet:
        """Last and next posting, and what needs a look."""
        choir_id = self._choir_directed_by(call)
        status = await self._services.status()
        say = self._say
        for choir in status.choirs:
            if choir.choir_id == choir_id:
                lines = [
                    say("discord.status_last", day=_day_words(choir.last_on, self._services)),
                    say("discord.status_next", day=_day_words(choir.next_on, self._services)),
                    *(say("discord.status_unsure", day=say.date(on)) for on in choir.unsure),
                    *(say("discord.status_missed", day=say.date(on)) for on in choir.missed),
                    *([choir.trouble] if choir.trouble else []),
                    *await self._shut(choir_id),
                ]
                return Sheet(title=choir.choir_name, line="\n".join(lines))
        raise Refused("choir.unknown", choir=choir_id)

    async def link(self, call: Call, code: str, role_id: str) -> Sheet:
        """Make this channel a choir's channel, with a code from the desk."""
        if not call.manages:
            raise Refused("discord.not_manager")
        if role_id == call.guild_id:
            raise Refused("discord.everyone_role")
        made = await self._services.discord.link(
            code, guild_id=call.guild_id, channel_id=call.channel_id, director_role_id=role_id
        )
        choir = await self._services.choirs.get(made.choir_id)
        said = (self._say("discord.linked", choir=choir.name), *await self._shut(choir.id))
        return Sheet(line="\n\n".join((*said, self._say("discord.age_limit"))))

    async def days(self, call: Call) -> list[str]:
        """The days that `preview` and `redraw` can take."""
        if not call.directs or call.link is None:
            return []
        return [one.on.isoformat() for one in await self._open_days(call.link.choir_id)]

    async def _shut(self, choir_id: str) -> tuple[str, ...]:
        """What to say where no sheet of the school opens the choir's channel."""
        if await self._services.seating.gate.open_for(choir_id) is not None:
            return ()
        return (self._say("discord.not_open"),)

    def _choir_directed_by(self, call: Call) -> str:
        if call.link is None:
            raise Refused("discord.not_linked")
        if not call.directs:
            raise Refused("discord.not_director")
        return call.link.choir_id

    async def _day(self, choir_id: str, text: str | None) -> date:
        """The day that was asked for, or the next one that is not up yet."""
        if text is None:
            coming = await self._open_days(choir_id)
            if not coming:
                raise Refused("discord.no_coming_day")
            return coming[0].on
        try:
            return date.fromisoformat(text.strip())
        except ValueError:
            raise Refused("discord.no_date", text=text[:40]) from None

    async def _open_days(self, choir_id: str) -> list[Upcoming]:
        coming = await self._services.readings.upcoming(choir_id, _OFFERED_DAYS)
        return [one for one in coming if one.state in _OPEN]


def _day_words(on: date | None, services: Services) -> str:
    say = services.content.wording
    return say("discord.no_day") if on is None else say.date(on)
