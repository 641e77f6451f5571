"""The desk's page of a choir's seats: slips, rests, counts of the class, copies, the export."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from enum import StrEnum

import segno
from aiohttp import web
from markupsafe import Markup

from bot.activities.choir import Choir
from bot.activities.taps import Went
from bot.chat.room.board import today_of
from bot.chat.room.entry import desk_page
from bot.chat.room.pages import refusal
from bot.chat.room.parts import Parts, choir_of, parts_of
from bot.chat.room.posted import read_posted
from bot.chat.room.seat import DOOR
from bot.errors import Refused
from bot.service.approvals import Action
from bot.service.seats import Slip

_JSON = "application/json"


class SeatsDone(StrEnum):
    """What was just done, carried in the address of the page that says so."""

    REMOVED = "seat-removed"
    REST = "rest"
    REST_BACK = "rest-back"
    REOPENED = "reopened"
    BROUGHT_BACK = "brought-back"


async def seats_page(request: web.Request) -> web.StreamResponse:
    """`GET /desk/choir/<id>/seats`."""
    return await _page(request, await choir_of(request), status=200)


async def make_seats(request: web.Request) -> web.StreamResponse:
    """`POST /desk/choir/<id>/seats`: seats up to a number; the slips of the new ones, once."""
    choir, posted = await choir_of(request), await read_posted(request)
    text = posted.text("count").strip()
    count = int(text) if text.isascii() and text.isdecimal() and len(text) < 6 else 0
    try:
        slips = await parts_of(request).services.seating.seats.make(choir.id, count)
    except Refused as refused:
        return await _refused(request, choir, refused)
    if not slips:
        return await _page(
            request, choir, status=409, fault=parts_of(request).pages.say("seats.none_new")
        )
    return await _slips_page(request, choir, slips)


async def new_slip(request: web.Request) -> web.StreamResponse:
    """`POST /desk/choir/<id>/seats/<number>/slip`: for a slip that was lost."""
    choir, number = await choir_of(request), int(request.match_info["number"])
    await read_posted(request)
    try:
        slip = await parts_of(request).services.seating.seats.new_slip(choir.id, number)
    except Refused as refused:
        return await _refused(request, choir, refused)
    return await _slips_page(request, choir, (slip,))


async def new_slips(request: web.Request) -> web.StreamResponse:
    """`POST /desk/choir/<id>/slips`: every slip anew."""
    choir = await choir_of(request)
    await read_posted(request)
    try:
        slips = await parts_of(request).services.seating.seats.new_slips(choir.id)
    except Refused as refused:
        return await _refused(request, choir, refused)
    return await _slips_page(request, choir, slips)


async def remove_seat(request: web.Request) -> web.StreamResponse:
    """`POST /desk/choir/<id>/seats/<number>/remove`."""
    choir, number = await choir_of(request), int(request.match_info["number"])
    await read_posted(request)
    try:
        await parts_of(request).services.seating.rights.remove_seat(choir.id, number)
    except Refused as refused:
        return await _refused(request, choir, refused)
    raise _back(choir, SeatsDone.REMOVED)


async def bring_back(request: web.Request) -> web.StreamResponse:
    """`POST /desk/choir/<id>/seats/back`: the seats that were lost with a broken database."""
    choir = await choir_of(request)
    await read_posted(request)
    try:
        await parts_of(request).services.seating.safe.bring_back(choir.id)
    except Refused as refused:
        return await _refused(request, choir, refused)
    raise _back(choir, SeatsDone.BROUGHT_BACK)


async def copy_of_seat(request: web.Request) -> web.StreamResponse:
    """`POST /desk/choir/<id>/seats/<number>/copy`: a seat's data for a family, as a file."""
    room, choir = parts_of(request), await choir_of(request)
    number = int(request.match_info["number"])
    await read_posted(request)
    try:
        copy = await room.services.seating.rights.copy_for_family(choir.id, number)
    except Refused as refused:
        return await _refused(request, choir, refused)
    today = room.pages.say.date(today_of(room, choir), "MMMM d, y")
    page = room.pages.text("seat_copy.html", {"copy": copy, "choir": choir, "today": today})
    return _download(page.encode(), f"seat-{number}.html", "text/html")


async def export(request: web.Request) -> web.StreamResponse:
    """`POST /desk/choir/<id>/export`: the choir as a file, nothing of a seat in it."""
    choir = await choir_of(request)
    await read_posted(request)
    return _download(
        await parts_of(request).services.seating.rights.export(choir.id),
        f"choir-{choir.id}.json",
        _JSON,
    )


async def give_rest(request: web.Request) -> web.StreamResponse:
    """`POST /desk/choir/<id>/rest`: a day of rest for the class, or taken back."""
    room, choir, posted = parts_of(request), await choir_of(request), await read_posted(request)
    try:
        on = date.fromisoformat(posted.text("on").strip())
    except ValueError:
        return await _page(request, choir, status=422, fault=room.pages.say("seats.rest_date"))
    if posted.text("back"):
        await room.services.seating.practice.take_rest(choir.id, on)
        raise _back(choir, SeatsDone.REST_BACK)
    await room.services.seating.practice.give_rest(choir.id, on)
    raise _back(choir, SeatsDone.REST)


async def reopen(request: web.Request) -> web.StreamResponse:
    """`POST /desk/choir/<id>/reopen`: let codes be tried again."""
    room, choir = parts_of(request), await choir_of(request)
    await read_posted(request)
    request.app[DOOR].reopen()
    await room.services.seating.approvals.note_alone(Action.JOINING_REOPENED)
    raise _back(choir, SeatsDone.REOPENED)


def qr_code(address: str, code: str) -> Markup:
    """A square for a phone's camera. The code stands behind the #, which no server is sent."""
    drawn = segno.make(f"{address}seat#{code}", error="m", micro=False)
    return Markup(drawn.svg_inline(border=2, omitsize=True, svgclass="qr", lineclass=None))  # noqa: S704 - drawn by the library from a code of ours


async def _slips_page(
    request: web.Request, choir: Choir, slips: Sequence[Slip]
) -> web.StreamResponse:
    room, address = parts_of(request), parts_of(request).address
    sheet = await room.services.seating.approvals.current(choir.id, today_of(room, choir))
    reachable = sheet is not None and sheet.room and not address.on_loopback
    numbers = [] if reachable else [slip.number for slip in slips]
    squares = {
        slip.number: qr_code(address.url, slip.code) if address.public_url else None
        for slip in slips
    }
    values = {
        "choir": choir,
        "slips": slips,
        "squares": squares,
        "address": f"{address.url}seat",
        "only_here": address.linked_here,
        # Where singers cannot reach the room, the slip carries a code for Discord instead.
        "link_codes": await room.services.seating.links.codes_of(choir.id, numbers),
    }
    return desk_page(request, "slips.html", values)


async def _refused(request: web.Request, choir: Choir, refused: Refused) -> web.StreamResponse:
    say = parts_of(request).pages.say
    return await _page(request, choir, status=409, fault=refusal(say, refused))


async def _page(
    request: web.Request, choir: Choir, *, status: int, fault: str | None = None
) -> web.StreamResponse:
    room = parts_of(request)
    seating, today = room.services.seating, today_of(room, choir)
    sheet = await seating.approvals.current(choir.id, today)
    values = {
        "choir": choir,
        "sheet": sheet,
        "seats": await seating.seats.of_choir(choir.id),
        "kept_on": await seating.safe.kept_on(choir.id),
        "counts": await seating.practice.counts(choir.id),
        "answers": tuple(Went),
        "rests": await seating.practice.rests(choir.id),
        "taken_over": seating.seats.taken_over(choir.id, today),
        "joining_closed": request.app[DOOR].closed,
        "today": today,
        "done": _done(room, request),
        "fault": fault,
    }
    return desk_page(request, "seats.html", values, status=status)


def _done(room: Parts, request: web.Request) -> str | None:
    say = room.pages.say
    words = {
        SeatsDone.REMOVED: say("seats.done.removed"),
        SeatsDone.REST: say("seats.done.rest"),
        SeatsDone.REST_BACK: say("seats.done.rest_back"),
        SeatsDone.REOPENED: say("seats.done.reopened"),
        SeatsDone.BROUGHT_BACK: say("seats.done.brought_back"),
    }
    try:
        return words[SeatsDone(request.query.get("done", ""))]
    except ValueError:
        return None


def _back(choir: Choir, done: SeatsDone) -> web.HTTPSeeOther:
    return web.HTTPSeeOther(f"/desk/choir/{choir.id}/seats?done={done.value}")


def _download(data: bytes, name: str, content_type: str) -> web.Response:
    return web.Response(
        body=data,
        content_type=content_type,
        headers={"Content-Disposition": f'attachment; filename="{name}"'},
    )
