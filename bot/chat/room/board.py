"""The board: what the whole class sees. Public in the room, read by anyone who can reach it."""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass
from datetime import date, datetime
from datetime import time as time_of_day
from zoneinfo import ZoneInfo

from aiohttp import web

from bot.activities.choir import Choir
from bot.chat.room.match_words import score_words
from bot.chat.room.pages import page_response
from bot.chat.room.parts import Parts, parts_of
from bot.chat.room.sheets import SheetView, day_words, sheet_of
from bot.chat.room.story_sheet import story_at_home
from bot.errors import Refused
from bot.service.card import ReadingCard
from bot.service.readings import Upcoming, UpcomingState

_ON_THE_BOARD = 6
_IN_THE_FOLDER = 400


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardLine:
    """One choir in the list of several boards."""

    choir: Choir
    newest: SheetView | None


async def front(request: web.Request) -> web.StreamResponse:
    """`/`: the board of the one choir, or the list of boards where there are several."""
    room = parts_of(request)
    choirs = await room.services.choirs.all()
    if not choirs:
        if room.address.is_local(request):
            raise web.HTTPSeeOther("/desk")
        return room.pages.page("board_empty.html", {})
    if len(choirs) == 1:
        return await _board(request, choirs[0].id)
    lines = [BoardLine(choir=choir, newest=await _newest_sheet(room, choir)) for choir in choirs]
    return room.pages.page("boards.html", {"lines": lines})


async def board(request: web.Request) -> web.StreamResponse:
    """`/choir/<id>`: one choir's board."""
    return await _board(request, request.match_info["choir"])


async def live(request: web.Request) -> web.StreamResponse:
    """`/choir/<id>/live`: the news of one choir's board."""
    if request.headers.get("Sec-Fetch-Site", "same-origin") != "same-origin":
        raise web.HTTPForbidden
    room = parts_of(request)
    choir = await room.services.choirs.get(request.match_info["choir"])
    cards = await cards_up(room, choir.id, limit=1)
    return await room.hub.stream(request, choir.id, cards[-1].reading_id if cards else "")


async def folder(request: web.Request) -> web.StreamResponse:
    """`/choir/<id>/folder`: every sheet of a choir, as a table of contents."""
    room = parts_of(request)
    choir = await room.services.choirs.get(request.match_info["choir"])
    cards = await cards_up(room, choir.id, limit=_IN_THE_FOLDER)
    today = today_of(room, choir)
    lines = [(day_words(room.pages.say, card.on, today), card) for card in cards]
    return room.pages.page("folder.html", {"choir": choir, "lines": lines})


async def reading(request: web.Request) -> web.StreamResponse:
    """`/reading/<id>`: one sheet by itself, to link and to print."""
    room = parts_of(request)
    card, choir = await _card_up(room, request.match_info["reading"])
    sheet = sheet_of(
        card,
        choir,
        room.pages.say,
        today=today_of(room, choir),
        unfolded=True,
        staff=_staff(request),
    )
    return room.pages.page("reading.html", {"choir": choir, "sheet": sheet, "part": None})


async def home(request: web.Request) -> web.StreamResponse:
    """`/reading/<id>/part/<n>`: one part alone, in its own key and octave."""
    room = parts_of(request)
    card, choir = await _card_up(room, request.match_info["reading"])
    number = int(request.match_info["part"])
    if not 1 <= number <= len(card.parts):
        raise Refused("reading.no_part", part=number)
    sheet = sheet_of(
        card,
        choir,
        room.pages.say,
        today=today_of(room, choir),
        unfolded=True,
        home=number - 1,
    )
    part = sheet.parts[0]
    return room.pages.page("reading.html", {"choir": choir, "sheet": sheet, "part": part})


async def cards_up(room: Parts, choir_id: str, limit: int) -> tuple[ReadingCard, ...]:
    """The cards on a choir's board, oldest first, with one that went up this very moment."""
    cards = await room.services.readings.board(choir_id, limit)
    latest = room.latest.get(choir_id)
    if latest is None or any(card.reading_id == latest.reading_id for card in cards):
        return cards
    if cards and cards[-1].on > latest.on:
        return cards
    return (*cards, latest)[-limit:]


def today_of(room: Parts, choir: Choir) -> date:
    """Today's date where the choir sings."""
    return room.services.clock.now().astimezone(ZoneInfo(choir.zone)).date()


def _staff(request: web.Request) -> int:
    """The part, counted from 0, whose clef was asked for by `?part=`; else the first."""
    asked = request.query.get("part", "1")
    return int(asked) - 1 if asked.isascii() and asked.isdigit() and 1 <= int(asked) <= 9 else 0


async def _card_up(room: Parts, reading_id: str) -> tuple[ReadingCard, Choir]:
    card = await room.services.readings.card(reading_id)
    return card, await room.services.choirs.get(card.choir_id)


async def _newest_sheet(room: Parts, choir: Choir) -> SheetView | None:
    cards = await cards_up(room, choir.id, limit=1)
    if not cards:
        return None
    today = today_of(room, choir)
    return sheet_of(cards[-1], choir, room.pages.say, today=today, unfolded=False)


async def _board(request: web.Request, choir_id: str) -> web.StreamResponse:
    """A choir's board, drawn once for all who open it as long as it is the same."""
    room, staff = parts_of(request), _staff(request)
    page = await room.shared.get(
        ("board", choir_id, staff),
        lambda: _drawn_board(room, choir_id, staff),
        lambda: _state(room, choir_id),
    )
    return page_response(page)


def _state(room: Parts, choir_id: str) -> Hashable:
    """What a board is drawn from: all that is kept, the newest card, and the minute."""
    latest = room.latest.get(choir_id)
    minute = room.services.clock.now().replace(second=0, microsecond=0)
    return room.services.readings.revision, latest and latest.reading_id, minute


async def _drawn_board(room: Parts, choir_id: str, staff: int) -> str:
    choir = await room.services.choirs.get(choir_id)
    alone = len(await room.services.choirs.all()) == 1
    today = today_of(room, choir)
    cards = await cards_up(room, choir.id, limit=_ON_THE_BOARD)
    coming = await room.services.readings.upcoming(choir.id, 2)
    score = await room.services.matches.score_today(choir.id)
    sheets = [
        sheet_of(
            card,
            choir,
            room.pages.say,
            today=today,
            unfolded=card is cards[-1],
            staff=staff,
        )
        for card in cards
    ]
    values = {
        "choir": choir,
        "alone": alone,
        "sheets": sheets,
        "notice": notice(room, today, cards, coming),
        "score": None if score is None else score_words(score, room.pages.say),
        "story": await story_at_home(room, choir, today),
        "tune": await room.services.play.mysteries.any_before(choir.id),
        "seats": await room.services.seating.approvals.current(choir.id, today) is not None,
    }
    return room.pages.text("board.html", values)


def notice(
    room: Parts, today: date, cards: tuple[ReadingCard, ...], coming: tuple[Upcoming, ...]
) -> str:
    """The sentence under the choir's name: what stands here, or when the next line comes."""
    say = room.pages.say
    up_today = bool(cards) and cards[-1].on == today
    later = [
        item
        for item in coming
        if item.state in (UpcomingState.PLANNED, UpcomingState.READY)
        and not (up_today and item.on == today)
    ]
    if not later:
        return say("board.today_up") if up_today else say("board.none_planned")
    day, time = _when(room, later[0].on, today), say.time(_local(later[0].at))
    if up_today:
        return say("board.today_up_next", day=day, time=time)
    if later[0].on == today:
        return say("board.today_comes", time=time)
    return say("board.no_meeting", day=day, time=time)


def _local(at: datetime) -> time_of_day:
    return at.timetz().replace(tzinfo=None)


def _when(room: Parts, on: date, today: date) -> str:
    if (on - today).days == 1:
        return room.pages.say("board.tomorrow")
    return day_words(room.pages.say, on, today)
