"""One choir's page at the desk: the coming five readings and what can be done with them."""

from __future__ import annotations

from datetime import date

from aiohttp import web

from bot.activities.choir import Choir
from bot.chat.room.desk import (
    Done,
    back_to_day,
    days_of,
    done_day,
    done_words,
    trouble_lines,
)
from bot.chat.room.entry import desk_page
from bot.chat.room.media_routes import media_response
from bot.chat.room.pages import refusal
from bot.chat.room.parts import Parts, choir_of, parts_of
from bot.chat.room.posted import FILE_LIMIT, PostedFile, read_posted
from bot.errors import Fault, InputProblems, Refused, SurfaceUnavailable
from bot.music.step import Track
from bot.notation.brought import is_midi
from bot.service.card import Arrangement, Media
from bot.service.criteria import criteria_choices


async def week(request: web.Request) -> web.StreamResponse:
    """`/desk/choir/<id>`."""
    return await _page(request, await choir_of(request), status=200)


async def picture(request: web.Request) -> web.StreamResponse:
    """`/desk/choir/<id>/day/<date>/<kind>`: the coming line as it will be shown."""
    room, choir, kind = (
        parts_of(request),
        await choir_of(request),
        Media(request.match_info["kind"]),
    )
    try:
        card = await room.services.readings.preview(choir.id, _on(request))
    except Refused as refused:
        raise web.HTTPNotFound(text=refusal(room.pages.say, refused)) from refused
    data = await room.services.readings.media(card.reading_id, Arrangement.TOGETHER, 0, kind)
    return media_response(request, data, kind, keep="no-store")


async def redraw(request: web.Request) -> web.StreamResponse:
    """`POST .../day/<date>/redraw`: another line for that day."""
    room, choir = parts_of(request), await choir_of(request)
    await read_posted(request)
    try:
        await room.services.readings.redraw(choir.id, _on(request))
    except Refused as refused:
        return await _page(request, choir, status=409, wish=refusal(room.pages.say, refused))
    raise back_to_day(choir.id, Done.REDRAWN, _on(request))


async def pin(request: web.Request) -> web.StreamResponse:
    """`POST .../day/<date>/pin`: hold the line to its day; with `off`, let it go again."""
    room, choir = parts_of(request), await choir_of(request)
    pinned = not (await read_posted(request)).text("off")
    try:
        await room.services.readings.pin(choir.id, _on(request), pinned=pinned)
    except (Refused, InputProblems) as problem:
        return await _page(request, choir, status=409, wish=_words(room, problem))
    raise back_to_day(choir.id, Done.PINNED if pinned else Done.UNPINNED, _on(request))


async def swap_step(request: web.Request) -> web.StreamResponse:
    """`POST .../day/<date>/step`: a line at other steps for that day alone."""
    room, choir, posted = parts_of(request), await choir_of(request), await read_posted(request)
    pitch, rhythm = posted.text("step_pitch"), posted.text("step_rhythm")
    try:
        await room.services.readings.swap_steps(choir.id, _on(request), pitch, rhythm)
    except (Refused, InputProblems) as problem:
        return await _page(request, choir, status=409, wish=_words(room, problem))
    raise back_to_day(choir.id, Done.SWAPPED, _on(request))


async def own_music(request: web.Request) -> web.StreamResponse:
    """`POST .../day/<date>/music`: the director's own file for that day, or all its faults."""
    room, choir, on = parts_of(request), await choir_of(request), _on(request)
    say = room.pages.say
    posted = await read_posted(request)
    file = posted.files.get("file")
    typed = {on: posted.text("typed")}
    both = bool(typed[on].strip() and file is not None and file.name)
    if typed[on].strip():
        file = PostedFile(name=say("own_music.title"), data=typed[on].encode())
    try:
        if both:
            raise InputProblems([Fault(place="", problem=say("desk.music.both"))])
        if file is None or (not file.name and not file.data):
            raise InputProblems([Fault(place="", problem=say("desk.music.none"))])
        if file.data is None:
            limit = FILE_LIMIT // (1024 * 1024)
            raise InputProblems([Fault(place="", problem=say("desk.music.large", limit=limit))])
        await room.services.readings.use_own_music(choir.id, on, file.data, file.name)
    except InputProblems as problems:
        faults = {on: [str(fault) for fault in problems.faults]}
        return await _page(request, choir, status=422, music=faults, typed=typed)
    except Refused as refused:
        faults = {on: [refusal(say, refused)]}
        return await _page(request, choir, status=409, music=faults, typed=typed)
    done = Done.MUSIC_TO_LOOK_OVER if is_midi(file.data) else Done.MUSIC
    raise back_to_day(choir.id, done, on)


async def open_line(request: web.Request) -> web.StreamResponse:
    """`POST .../day/<date>/open`: the class has read that day's line and may hear it now."""
    room, choir, on = parts_of(request), await choir_of(request), _on(request)
    await read_posted(request)
    up = await room.services.readings.board(choir.id)
    card = next((card for card in up if card.on == on), None)
    if card is None:
        raise web.HTTPNotFound
    try:
        await room.services.lesson.open(card.reading_id)
    except Refused as refused:
        return await _page(request, choir, status=409, wish=refusal(room.pages.say, refused))
    raise back_to_day(choir.id, Done.OPENED, on)


async def post_now(request: web.Request) -> web.StreamResponse:
    """`POST .../post`: today's line goes up now."""
    room, choir = parts_of(request), await choir_of(request)
    await read_posted(request)
    try:
        await room.services.readings.post_now(choir.id)
    except Refused as refused:
        return await _page(request, choir, status=409, wish=refusal(room.pages.say, refused))
    except (SurfaceUnavailable, TimeoutError):
        return await _page(request, choir, status=503, wish=room.pages.say("desk.unreachable"))
    raise web.HTTPSeeOther(f"/desk/choir/{choir.id}?done={Done.POSTED.value}")


async def remove_form(request: web.Request) -> web.StreamResponse:
    """`GET .../remove`: ask once before a choir and all its readings go."""
    return desk_page(request, "remove.html", {"choir": await choir_of(request)})


async def remove(request: web.Request) -> web.StreamResponse:
    """`POST .../remove`."""
    room, choir = parts_of(request), await choir_of(request)
    await read_posted(request)
    await room.services.seating.rights.remove_choir(choir.id)
    room.latest.pop(choir.id, None)
    raise web.HTTPSeeOther(f"/desk?done={Done.REMOVED.value}")


def _on(request: web.Request) -> date:
    try:
        return date.fromisoformat(request.match_info["on"])
    except ValueError as error:
        raise web.HTTPNotFound from error


def _words(room: Parts, problem: Refused | InputProblems) -> str:
    return refusal(room.pages.say, problem) if isinstance(problem, Refused) else str(problem)


async def _page(
    request: web.Request,
    choir: Choir,
    *,
    status: int,
    wish: str | None = None,
    music: dict[date, list[str]] | None = None,
    typed: dict[date, str] | None = None,
) -> web.StreamResponse:
    room = parts_of(request)
    state = await room.services.status()
    mine = [line for line in state.choirs if line.choir_id == choir.id]
    troubles = [sentence for line in mine for sentence in trouble_lines(room.pages.say, line)]
    unsure = [day for line in mine for day in line.unsure]
    days, done_on = await days_of(room, choir, unsure), done_day(request)
    values = {
        "choir": choir,
        "days": days,
        "done": done_words(request),
        "done_on": done_on if any(day.on == done_on for day in days) else None,
        "troubles": troubles,
        "wish": wish,
        "music_faults": music or {},
        "typed": typed or {},
        "criteria": criteria_choices(room.services.content),
        "sequence": room.services.content.sequences.get(choir.steps.sequence),
        "tracks": (Track.PITCH, Track.RHYTHM),
    }
    return desk_page(request, "week.html", values, status=status)
