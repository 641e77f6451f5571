"""A singer's own page: the code at the door, today's line, the tap, the row, one's data."""

from __future__ import annotations

import ipaddress
from dataclasses import replace
from datetime import date, datetime

from aiohttp import web

from bot.activities.taps import Went
from bot.chat.room.board import cards_up, notice
from bot.chat.room.join_door import JoinDoor
from bot.chat.room.pages import refusal
from bot.chat.room.parts import Parts, parts_of
from bot.chat.room.posted import read_posted
from bot.chat.room.row_drawing import draw_row
from bot.chat.room.safety import peer_of
from bot.chat.room.sheets import day_words, sheet_of
from bot.chat.room.story_sheet import vote_of
from bot.errors import Refused
from bot.privacy.approval import Activity
from bot.service.approvals import Action
from bot.service.demo_seats import DEMO_CODE
from bot.service.practice import SeatDays
from bot.service.seats import Seated
from bot.store.seats import Seat

DOOR = web.AppKey("join_door", JoinDoor)


async def seat_page(request: web.Request) -> web.StreamResponse:
    """`GET /seat`: the door, or the page of whoever sits there; `?another` shows the door again."""
    seat = await seat_of(request)
    if seat is None or "another" in request.query:
        return door_page(request, status=200)
    return await page(request, seat, status=200)


async def sit_down(request: web.Request) -> web.StreamResponse:
    """`POST /seat`: a code for a seat."""
    room, posted, door = parts_of(request), await read_posted(request), request.app[DOOR]
    client, now = client_of(request), room.services.clock.now()
    wait = door.wait(client, now)
    code = posted.text("code")
    if door.closed:
        return door_page(request, status=429, fault=room.pages.say("seat.door.closed"))
    if wait:
        seconds = int(wait.total_seconds()) + 1
        response = door_page(
            request, status=429, fault=room.pages.say("seat.door.wait", count=seconds), typed=code
        )
        response.headers["Retry-After"] = str(seconds)
        return response
    if door.tried(client, now):
        await room.services.seating.approvals.note_alone(Action.JOINING_CLOSED, by_director=False)
    try:
        sitting = await room.services.seating.seats.sit(
            code, remember=bool(posted.text("remember"))
        )
    except Refused as refused:
        if refused.key == "seat.closed":
            door.right(client, now)
        fault = refusal(room.pages.say, refused)
        return door_page(request, status=403, fault=fault, typed=code)
    door.right(client, now)
    before = request.cookies.get(_cookie(room))
    if before is not None:
        await room.services.seating.seats.leave(before)
    response = web.Response(status=303, headers={"Location": "/seat"})
    _give_cookie(room, response, sitting)
    return response


async def leave(request: web.Request) -> web.StreamResponse:
    """`POST /seat/leave`."""
    await read_posted(request)
    room, token = parts_of(request), request.cookies.get(_cookie(parts_of(request)))
    if token is not None:
        await room.services.seating.seats.leave(token)
    return _gone(room, "/seat")


async def tap(request: web.Request) -> web.StreamResponse:
    """`POST /seat/tap`: I read it. The answer comes after it is kept."""
    room, posted, seat = parts_of(request), await read_posted(request), await seat_of(request)
    if seat is None:
        return door_page(request, status=403, fault=room.pages.say("seat.door.again"))
    try:
        on, went = date.fromisoformat(posted.text("on")), Went(posted.text("went"))
    except ValueError as error:
        raise web.HTTPBadRequest from error
    try:
        await room.services.seating.practice.tap(seat.id, on, went)
    except Refused as refused:
        return await page(request, seat, status=409, fault=refusal(room.pages.say, refused))
    # Not raised: what is raised holds its frames in a circle, garbage to be searched for.
    return web.Response(status=303, headers={"Location": "/seat?done=read"})


async def my_data(request: web.Request) -> web.StreamResponse:
    """`GET /seat/data`: everything that is kept about this seat."""
    room, seat = parts_of(request), await seat_of(request)
    if seat is None:
        return door_page(request, status=403, fault=room.pages.say("seat.door.again"))
    days = await room.services.seating.practice.days(seat.id)
    values = {
        "seat": seat,
        "copy": await room.services.seating.rights.copy_of(seat.id),
        "may_forget": days.sheet.self_erase,
        "contact": days.sheet.rights_contact,
        "sure": False,
    }
    return room.pages.page("seat_data.html", values)


async def forget(request: web.Request) -> web.StreamResponse:
    """`POST /seat/forget`: the first tap asks, the second one erases."""
    room, posted, seat = parts_of(request), await read_posted(request), await seat_of(request)
    if seat is None:
        return door_page(request, status=403, fault=room.pages.say("seat.door.again"))
    days = await room.services.seating.practice.days(seat.id)
    if not days.sheet.self_erase:
        raise web.HTTPForbidden
    if posted.text("sure") != "yes":
        values = {"seat": seat, "copy": None, "may_forget": True, "contact": "", "sure": True}
        return room.pages.page("seat_data.html", values)
    await room.services.seating.rights.forget(seat.id, by_director=False)
    return _gone(room, "/seat?done=forgotten")


def client_of(request: web.Request) -> str:
    """Who is at the door, kept in memory for the throttle and never logged.

    Behind a proxy on this machine that is whom the proxy saw: the last address it added.
    """
    peer = peer_of(request) or ""
    if parts_of(request).address.public_url is None or not _loopback(peer):
        return peer
    seen = request.headers.get("X-Forwarded-For", "").rpartition(",")[2].strip()
    try:
        return str(ipaddress.ip_address(seen))
    except ValueError:
        return peer


def _loopback(text: str) -> bool:
    try:
        return ipaddress.ip_address(text).is_loopback
    except ValueError:
        return False


async def seat_of(request: web.Request) -> Seat | None:
    """The seat at which this device sits, None where it sits nowhere."""
    room = parts_of(request)
    token = request.cookies.get(_cookie(room))
    return None if not token else await room.services.seating.seats.at(token)


def door_page(
    request: web.Request, *, status: int, fault: str | None = None, typed: str = ""
) -> web.Response:
    """The page that asks for the code on a slip; one that was `typed` stands there to be mended."""
    done = request.query.get("done") == "forgotten"
    demo = DEMO_CODE if parts_of(request).demo else None
    values = {"fault": fault, "forgotten": done, "demo_code": demo, "typed": typed}
    return parts_of(request).pages.page("seat_door.html", values, status=status)


async def page(
    request: web.Request,
    seat: Seat,
    *,
    status: int,
    fault: str | None = None,
    link_code: str | None = None,
) -> web.StreamResponse:
    """The page of whoever sits there; `link_code` is shown where it was just asked for."""
    room, links = parts_of(request), parts_of(request).services.seating.links
    say = room.pages.say
    days = await room.services.seating.practice.days(seat.id)
    cards = await cards_up(room, seat.choir_id, limit=1)
    up_today = bool(cards) and cards[-1].on == days.today
    coming = () if up_today else await room.services.readings.upcoming(seat.choir_id, 2)
    asks_span = Activity.SPAN in days.sheet.activities
    staffs = []
    if cards:
        staffs = [
            sheet_of(cards[-1], days.choir, say, today=days.today, unfolded=True, staff=number)
            for number in range(len(cards[-1].parts))
        ]
    values = {
        "choir": days.choir,
        "seat": seat,
        # Which part it is stays with the browser: no link of this page tells the server.
        "sheet": replace(staffs[0], staffs=()) if staffs else None,
        "staffs": staffs,
        "days": [(day, day_words(say, day.on, days.today)) for day in days.days],
        "today": days.today,
        "none_today": notice(room, days.today, cards, coming),
        "taps": Activity.TAPS in days.sheet.activities,
        "answers": tuple(Went),
        "row": None if days.row is None else draw_row(days.row, days.today, say),
        "kept": _kept_words(room, days),
        "linkable": await links.offered_to(seat),
        "linked": await links.linked(seat.id),
        "link_code": link_code,
        "span": await room.services.seating.spans.asked(seat.id) if asks_span else None,
        "vote": await vote_of(room, days.choir, days.today, seat.id),
        "done": _done(room, request),
        "fault": fault,
    }
    return room.pages.page("seat.html", values, status=status)


def _done(room: Parts, request: web.Request) -> str | None:
    match request.query.get("done"):
        case "read":
            return room.pages.say("seat.marked")
        case "voted":
            return room.pages.say("telling.voted")
        case "unlinked":
            return room.pages.say("link.left")
    return None


def _kept_words(room: Parts, days: SeatDays) -> tuple[str, ...]:
    """Weeks in words; of weeks that were not kept there is no word."""
    say, row = room.pages.say, days.row
    if row is None or not row.kept:
        return ()
    kept = say("practice.kept", count=row.kept)
    if row.in_a_row < 2:
        return (kept,)
    return (say("practice.in_a_row", count=row.in_a_row), kept)


def _give_cookie(room: Parts, response: web.Response, sitting: Seated) -> None:
    now: datetime = room.services.clock.now()
    age = None if sitting.until is None else ((sitting.until - now.date()).days + 2) * 86_400
    response.set_cookie(
        _cookie(room),
        sitting.token,
        path="/",
        httponly=True,
        samesite="Strict",
        secure=room.address.secure,
        max_age=age,
    )


def _gone(room: Parts, where: str) -> web.Response:
    response = web.Response(status=303, headers={"Location": where})
    response.del_cookie(_cookie(room), path="/", secure=room.address.secure, httponly=True)
    return response


def _cookie(room: Parts) -> str:
    return "__Host-riserbell-seat" if room.address.secure else "riserbell-seat"
