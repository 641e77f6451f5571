"""Every address of the room, in one table; each change is a POST, each desk page is locked."""

from __future__ import annotations

from aiohttp import web
from aiohttp.typedefs import Middleware

from bot.chat.room import (
    board,
    choir_form,
    days,
    desk,
    discord_routes,
    entry,
    film_page,
    match_routes,
    media_routes,
    month,
    music_routes,
    paper,
    partner_routes,
    seat_routes,
    span_desk,
    stage,
    stage_curtain,
    story_routes,
    tune_routes,
    week,
)
from bot.chat.room.faults import faults
from bot.chat.room.join_door import JoinDoor
from bot.chat.room.parts import PARTS, Parts
from bot.chat.room.posted import FIELDS_LIMIT, taken
from bot.chat.room.safety import Handler, dress, guard
from bot.chat.room.seat import DOOR
from bot.chat.room.stage_ticket import TICKETS, Tickets

_CHOIR = "{choir:[A-Za-z0-9_-]{1,64}}"
_READING = "{reading:[A-Za-z0-9_-]{1,64}}"
_FILE = "{size:(-large)?}.{kind:html|pdf}"
_DAY = "day/{on:[0-9]{4}-[0-9]{2}-[0-9]{2}}"

OPEN_PAGES: tuple[tuple[str, Handler], ...] = (
    ("/", board.front),
    (f"/choir/{_CHOIR}", board.board),
    (f"/choir/{_CHOIR}/live", board.live),
    (f"/choir/{_CHOIR}/folder", board.folder),
    (f"/reading/{_READING}", board.reading),
    (f"/reading/{_READING}/part/{{part:[0-9]{{1,2}}}}", board.home),
    (
        f"/media/{_READING}/{{arrangement:[a-z]+}}/{{part:[0-9]{{1,2}}}}/{{kind:[a-z0-9.]+}}",
        media_routes.media,
    ),
    (
        f"/turned/{_READING}/{{part:[0-9]{{1,2}}}}/{{way:[a-z-]+}}/{{kind:[a-z0-9.]+}}",
        media_routes.turned,
    ),
    (f"/clip/{_READING}/{{part:[0-9]{{1,2}}}}.mp4", media_routes.clip),
    (
        f"/reading/{_READING}/signs/{{part:[0-9]{{1,2}}}}/{{arrangement:together|apart}}",
        stage.line_signs,
    ),
    (
        f"/stage/{_CHOIR}/{_READING}/{{part:[0-9]{{1,2}}}}/{{kind:[a-z0-9.]+}}",
        stage.media,
    ),
    ("/static/{digest:[0-9a-f]+}/{name:[a-z0-9.-]+}", media_routes.static),
    ("/desk/sign-in", entry.sign_in_form),
)

OPEN_CHANGES: tuple[tuple[str, Handler], ...] = (
    ("/desk/sign-in", entry.sign_in),
    ("/desk/sign-out", entry.sign_out),
    (f"/stage/{_CHOIR}/{_READING}/open", stage.open_line),
    (f"/stage/{_CHOIR}/{_READING}/read", stage.read),
    (f"/stage/{_CHOIR}/{_READING}/another", stage.another),
    (f"/stage/{_CHOIR}/{_READING}/curtain", stage_curtain.place),
    (f"/stage/{_CHOIR}/{_READING}/curtain/fell", stage_curtain.fell),
    (f"/stage/{_CHOIR}/fall/{{number:[0-9]{{1,6}}}}", stage_curtain.held),
)

DESK_PAGES: tuple[tuple[str, Handler], ...] = (
    ("/desk", desk.desk),
    ("/desk/status", desk.status),
    ("/stage", stage.front),
    (f"/stage/{_CHOIR}", stage.stage),
    ("/desk/passphrase", entry.passphrase_form),
    ("/desk/example.svg", choir_form.example),
    ("/desk/choir/new", choir_form.new_choir_page),
    (f"/desk/choir/{_CHOIR}", week.week),
    (f"/desk/choir/{_CHOIR}/settings", choir_form.settings_form),
    (f"/desk/choir/{_CHOIR}/remove", week.remove_form),
    (f"/desk/choir/{_CHOIR}/paper", paper.overview),
    (f"/desk/choir/{_CHOIR}/days", days.form),
    (f"/desk/choir/{_CHOIR}/month", month.month),
    (f"/desk/choir/{_CHOIR}/span", span_desk.span),
    (f"/desk/choir/{_CHOIR}/take-home{_FILE}", paper.week),
    (f"/desk/choir/{_CHOIR}/{_DAY}/take-home{_FILE}", paper.day),
    (f"/desk/choir/{_CHOIR}/substitute{_FILE}", paper.substitute),
    (f"/desk/choir/{_CHOIR}/other-ways{{size:(-large)?}}.pdf", paper.other_ways),
    (f"/desk/choir/{_CHOIR}/{_DAY}/{{kind:picture\\.svg|sheet\\.svg|phone\\.svg}}", week.picture),
)

DESK_CHANGES: tuple[tuple[str, Handler], ...] = (
    ("/desk/awake", entry.stay_awake),
    ("/desk/passphrase", entry.set_passphrase),
    ("/desk/choir/new", choir_form.add_choir),
    (f"/desk/choir/{_CHOIR}/settings", choir_form.change_choir),
    (f"/desk/choir/{_CHOIR}/remove", week.remove),
    (f"/desk/choir/{_CHOIR}/span/{{number:[0-9]{{1,6}}}}", span_desk.count),
    (f"/desk/choir/{_CHOIR}/paper/draw", paper.draw),
    (f"/desk/choir/{_CHOIR}/days", days.read),
    (f"/desk/choir/{_CHOIR}/days/take", days.take),
    (f"/desk/choir/{_CHOIR}/paper/{{number:[1-5]}}/{{said:read|unread}}", paper.was_read),
    (f"/desk/choir/{_CHOIR}/post", week.post_now),
    (f"/desk/choir/{_CHOIR}/{_DAY}/redraw", week.redraw),
    (f"/desk/choir/{_CHOIR}/{_DAY}/pin", week.pin),
    (f"/desk/choir/{_CHOIR}/{_DAY}/step", week.swap_step),
    (f"/desk/choir/{_CHOIR}/{_DAY}/music", week.own_music),
    (f"/desk/choir/{_CHOIR}/{_DAY}/open", week.open_line),
)


# Families with a table of their own.
_MORE = (
    seat_routes,
    discord_routes,
    film_page,
    match_routes,
    music_routes,
    partner_routes,
    story_routes,
    tune_routes,
)


def build_application(parts: Parts, outermost: Middleware, stage_key: bytes) -> web.Application:
    """The room as an aiohttp application: faults stand around the guard, the guard before all."""
    application = web.Application(
        middlewares=[outermost, faults, guard(lambda: parts.address), taken],
        client_max_size=FIELDS_LIMIT,
    )
    application[PARTS] = parts
    application[TICKETS] = Tickets(stage_key)
    application[DOOR] = JoinDoor()
    application.on_response_prepare.append(dress)
    router = application.router
    router.add_get("/healthz", _health)
    for path, handler in (*OPEN_PAGES, *(row for more in _MORE for row in more.OPEN_PAGES)):
        router.add_get(path, handler)
    for path, handler in (*OPEN_CHANGES, *(row for more in _MORE for row in more.OPEN_CHANGES)):
        router.add_post(path, handler)
    for path, handler in (*DESK_PAGES, *(row for more in _MORE for row in more.DESK_PAGES)):
        router.add_get(path, entry.locked(handler))
    for path, handler in (*DESK_CHANGES, *(row for more in _MORE for row in more.DESK_CHANGES)):
        router.add_post(path, entry.locked(handler))
    return application


async def _health(_request: web.Request) -> web.StreamResponse:
    return web.Response(text="ok\n")
