"""Every error of a request as one clear page, and nothing about it in the log but its kind."""

from __future__ import annotations

import logging

from aiohttp import web

from bot.chat.room.parts import parts_of
from bot.chat.room.safety import Handler
from bot.errors import InputProblems, Refused, RenderFailed

_log = logging.getLogger(__name__)


@web.middleware
async def faults(request: web.Request, handler: Handler) -> web.StreamResponse:
    """Answer errors of handlers, expected or not, with a page."""
    try:
        return await handler(request)
    except web.HTTPException as answer:
        if answer.status < 400:
            raise
        return _page(request, answer.status, _words(request, answer.status))
    except Refused as refused:
        say = parts_of(request).pages.say
        if refused.key.endswith((".unknown", ".no_part")):
            return _page(request, 404, say("room.fault.gone"))
        if refused.key == "stage.closed":
            return _page(request, 403, say("stage.closed"))
        known = say.has(refused.key)
        sentence = say(refused.key, **refused.values) if known else say("room.fault.refused")
        return _page(request, 409, sentence)
    except InputProblems as problems:
        return _page(request, 422, str(problems))
    except RenderFailed:
        _log.warning("a picture or sound could not be made")
        return _page(request, 503, _words(request, 503))
    except ConnectionError:
        raise
    except Exception:
        # The traceback names lines of the program, never values of the request.
        _log.exception("a page failed")
        return _page(request, 500, _words(request, 500))


def _words(request: web.Request, status: int) -> str:
    say = parts_of(request).pages.say
    match status:
        case 403:
            return say("room.fault.forbidden")
        case 404:
            return say("room.fault.missing")
        case 405:
            return say("room.fault.method")
        case 408:
            return say("room.fault.slow")
        case 413:
            return say("room.fault.large")
        case 421:
            return say("room.fault.host")
        case 503:
            return say("room.fault.render")
        case 500:
            return say("room.fault.broken")
        case _:
            return say("room.fault.bad")


def _page(request: web.Request, status: int, sentence: str) -> web.Response:
    room = parts_of(request)
    return room.pages.page("fault.html", {"sentence": sentence, "status": status}, status=status)
