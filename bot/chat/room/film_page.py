"""A film on a page of its own, and how far a singer held the line after the page went.

Where an approval lets seats tell it, the beats stand under the film as buttons; elsewhere nothing
is asked. Which part somebody sings is not told to the server: every part has its beats here.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby

from aiohttp import web

from bot.activities.curtain import Spot
from bot.chat.room.board import today_of
from bot.chat.room.pages import refusal
from bot.chat.room.parts import Parts, parts_of
from bot.chat.room.posted import read_posted
from bot.chat.room.safety import Handler
from bot.chat.room.seat import door_page, seat_of
from bot.chat.room.sheets import PartView, media_url, sheet_of
from bot.errors import Refused
from bot.service.card import Arrangement, Media
from bot.store.seats import Seat

_MOST_DIGITS = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class BeatMark:
    """One beat to tap: its figure in the measure, how many beats it makes, the same in words."""

    figure: str
    beats: int
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasureMarks:
    """The beats of one measure that lie behind the curtain."""

    measure: int
    beats: tuple[BeatMark, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class FilmView:
    """The film of one part with the beats that can be told of it; `picture` stands before it."""

    part: PartView
    picture: str
    measures: tuple[MeasureMarks, ...]


async def film_page(request: web.Request) -> web.StreamResponse:
    """`/reading/<id>/film`: the films of a reading; Refused("curtain.short") without any."""
    return await _page(request, request.match_info["reading"], status=200)


async def tell(request: web.Request) -> web.StreamResponse:
    """`POST /seat/span`: the beats held, or nothing to take the number back."""
    room, posted, seat = parts_of(request), await read_posted(request), await seat_of(request)
    if seat is None:
        return door_page(request, status=403, fault=room.pages.say("seat.door.again"))
    reading, text = posted.text("reading"), posted.text("beats")
    if text and not (text.isascii() and text.isdigit() and len(text) <= _MOST_DIGITS):
        raise web.HTTPBadRequest
    try:
        await room.services.seating.spans.tell(seat.id, reading, int(text) if text else None)
        card = await room.services.readings.card(reading)  # one of ours, or there is no way back
    except Refused as refused:
        if refused.key.endswith(".unknown"):
            raise
        fault = refusal(room.pages.say, refused)
        return await _page(request, reading, status=409, fault=fault)
    raise web.HTTPSeeOther(
        f"/reading/{card.reading_id}/film?done={'told' if text else 'back'}#held"
    )


async def _page(
    request: web.Request, reading_id: str, *, status: int, fault: str | None = None
) -> web.StreamResponse:
    room, seat = parts_of(request), await seat_of(request)
    card = await room.services.readings.card(reading_id)
    choir = await room.services.choirs.get(card.choir_id)
    sheet = sheet_of(card, choir, room.pages.say, today=today_of(room, choir), unfolded=True)
    after = await room.services.play.clips.beats_after(card.reading_id)
    if not sheet.parts[0].clip:
        raise Refused("curtain.short")
    values = {
        "choir": choir,
        "sheet": sheet,
        "films": [
            FilmView(
                part=part,
                picture=media_url(
                    card.reading_id, Arrangement.TOGETHER, index, Media.PICTURE_SVG, part.mark
                ),
                measures=_measures(room, spots),
            )
            for index, (part, spots) in enumerate(zip(sheet.parts, after, strict=True))
        ],
        "asked": await _asked(room, seat, choir.id),
        "may_sit": seat is None and await room.services.seating.spans.asked_in(choir.id),
        "done": _done(room, request),
        "fault": fault,
    }
    return room.pages.page("film.html", values, status=status)


async def _asked(room: Parts, seat: Seat | None, choir_id: str) -> object:
    """What this seat can tell of a film of its own choir; None where it cannot."""
    if seat is None or seat.choir_id != choir_id:
        return None
    return await room.services.seating.spans.asked(seat.id)


def _measures(room: Parts, spots: tuple[Spot, ...]) -> tuple[MeasureMarks, ...]:
    say, counted = room.pages.say, enumerate(spots, start=1)
    return tuple(
        MeasureMarks(
            measure=measure,
            beats=tuple(
                BeatMark(
                    figure=str(spot.beat),
                    beats=beats,
                    words=say("span.beat", measure=measure, beat=str(spot.beat), count=beats),
                )
                for beats, spot in together
            ),
        )
        for measure, together in groupby(counted, key=lambda each: each[1].measure)
    )


def _done(room: Parts, request: web.Request) -> str | None:
    match request.query.get("done"):
        case "told":
            return room.pages.say("span.kept")
        case "back":
            return room.pages.say("span.left_out")
    return None


_READING = "{reading:[A-Za-z0-9_-]{1,64}}"

OPEN_PAGES: tuple[tuple[str, Handler], ...] = ((f"/reading/{_READING}/film", film_page),)
OPEN_CHANGES: tuple[tuple[str, Handler], ...] = (("/seat/span", tell),)
DESK_PAGES: tuple[tuple[str, Handler], ...] = ()
DESK_CHANGES: tuple[tuple[str, Handler], ...] = ()
