"""What somebody with a seat does: the tap, the practice row, the own data, linking and leaving."""

from __future__ import annotations

import json
from collections.abc import Mapping

from bot.activities.choir import Choir, Hearing
from bot.activities.practice import PracticeRow
from bot.chat.discord.door import Call
from bot.chat.discord.opening import opening_for
from bot.chat.discord.sheet import (
    NO_MARK,
    SEAT,
    Button,
    Piece,
    Press,
    Sheet,
    hear_press,
    read_in,
    vote_in,
)
from bot.errors import Refused
from bot.service.services import Services
from bot.store.seats import Seat

CODE_FIELD = "code"


class SeatWork:
    """The caller is a tag here. Everything is said after it is kept."""

    def __init__(self, services: Services) -> None:
        self._services = services
        self._say = services.content.wording

    async def read(self, call: Call, press: Press) -> Sheet:
        """The line was read: counted once where there is a seat; then the line may be heard."""
        reading_id, on, went = read_in(press)
        opening = await opening_for(call, self._services, unlinked="discord.other_channel")
        choir_id = opening.link.choir_id
        rows = self._hear_row(opening.choir, press.mark, reading_id)
        if went is None or not opening.counts_taps:
            return Sheet(line=self._say("discord.read_uncounted"), rows=rows)
        seating = self._services.seating
        seat = await seating.practice.tap_at(
            lambda change: seating.links.seat_in(change, choir_id, call.tag), on, went
        )
        if seat is None:
            return Sheet(line=self._say("link.none"), rows=((self._seat_button(),), *rows))
        words = (self._say("seat.marked"), self._say(f"seat.said.{went}"))
        return Sheet(line=" ".join(words), rows=rows)

    async def vote(self, call: Call, press: Press) -> Sheet:
        """A ballot of the caller's seat, in place of an earlier one."""
        telling, visit, path = vote_in(press)
        seat = await self._seat(call)
        if seat is None:
            return self._without_seat()
        await self._services.stories.votes.vote(seat.id, path, (telling, visit))
        return Sheet(line=self._say("telling.voted"))

    async def row(self, call: Call) -> Sheet:
        """The practice row in signs and words."""
        seat = await self._seat(call)
        if seat is None:
            return self._without_seat()
        days = await self._services.seating.practice.days(seat.id)
        if days.row is None:
            return Sheet(line=self._say("discord.no_row"))
        return Sheet(title=self._say("practice.name"), line=self._row_words(days.row))

    async def data(self, call: Call) -> Sheet:
        """Everything that is kept about the caller's seat, as a file too."""
        seat = await self._seat(call)
        if seat is None:
            return self._without_seat()
        copy = await self._services.seating.rights.copy_of(seat.id)
        text = json.dumps(copy, indent=1, ensure_ascii=False)
        words = self._say("discord.data_file")
        piece = Piece(name="my-data.json", data=text.encode(), words=words)
        return Sheet(
            title=self._say("seat.data.title", number=seat.number),
            line="\n\n".join((self._say("seat.data.lead"), self._say("discord.data_tag"))),
            files=(piece,),
        )

    async def span(self, call: Call, beats: int | None) -> Sheet:
        """How far the caller's seat held the line in its film; without a number it is left out.

        Refused("span.not_asked"), Refused("curtain.beats"), Refused("discord.nothing_up").
        """
        seat = await self._seat(call)
        if seat is None:
            return self._without_seat()
        cards = await self._services.readings.board(seat.choir_id, limit=1)
        if not cards:
            raise Refused("discord.nothing_up")
        spans, say = self._services.seating.spans, self._say
        await spans.tell(seat.id, cards[-1].reading_id, beats)
        asked = await spans.asked(seat.id)
        if asked is None or asked.told is None:
            return Sheet(line=say("span.left_out"))
        told = say("span.told", count=asked.told) if asked.told else say("span.told_none")
        until = say("span.until", day=say.date(asked.last))
        return Sheet(line=f"{told} {until}\n\n{say('span.why', least=asked.least)}")

    async def leave(self, call: Call) -> Sheet:
        """Drop the caller's tag at once; it needs no approval."""
        if call.link is None:
            raise Refused("discord.not_linked")
        gone = await self._services.seating.links.leave(call.link.choir_id, call.tag)
        return Sheet(line=self._say("link.left" if gone else "link.was_none"))

    async def take(self, call: Call, form: Mapping[str, str]) -> Sheet:
        """Link the caller with the seat whose code was typed into the form."""
        opening = await opening_for(call, self._services)
        seat = await self._services.seating.links.take(
            opening.link.choir_id, call.tag, form.get(CODE_FIELD, "")
        )
        return Sheet(line=self._say("link.made", number=seat.number))

    async def _seat(self, call: Call) -> Seat | None:
        opening = await opening_for(call, self._services)
        return await self._services.seating.links.seat_of(opening.link.choir_id, call.tag)

    def _without_seat(self) -> Sheet:
        return Sheet(line=self._say("link.none"), rows=((self._seat_button(),),))

    def _seat_button(self) -> Button:
        return Button(press=Press(kind=SEAT, mark=NO_MARK), label=self._say("link.button"))

    def _hear_row(self, choir: Choir, mark: str, reading_id: str) -> tuple[tuple[Button, ...], ...]:
        if choir.hearing is Hearing.NEVER:
            return ()
        label = self._say("stage.hearing_line.once")
        return ((Button(press=hear_press(mark, reading_id), label=label),),)

    def _row_words(self, row: PracticeRow) -> str:
        say = self._say
        lines = [
            say(
                "discord.row_week",
                day=say.date(week[0].on, "MMMM d"),
                signs=" ".join(say(f"discord.sign.{day.mark}") for day in week),
            )
            for week in row.weeks
        ]
        if row.kept:
            lines.append(say("practice.kept", count=row.kept))
        if row.in_a_row > 1:
            lines.append(say("practice.in_a_row", count=row.in_a_row))
        return "\n".join((*lines, say("discord.row_legend")))
