"""The stage: one line, huge, on the projector, run by a clicker. Nothing private is ever on it."""

from __future__ import annotations

import json
from dataclasses import asdict
from typing import Any

from aiohttp import web

from bot.activities.choir import Hearing
from bot.activities.rotation import Kind
from bot.activities.routine import Choice, Stop
from bot.activities.routine_table import DIALS, KEYS, RoutineTable, routine_table
from bot.activities.way import Way, ways_for
from bot.chat.room.board import today_of
from bot.chat.room.media_routes import media_response
from bot.chat.room.pages import draw_signs, refusal
from bot.chat.room.parts import Parts, parts_of
from bot.chat.room.sheets import day_words, pulse_name
from bot.chat.room.stage_ticket import require_ticket, ticket_of
from bot.errors import InputProblems, NoExercise, Refused
from bot.service.card import Arrangement, Media
from bot.service.lesson import LessonLine
from bot.service.lesson_line import TEMPI, Sign, StageMedia
from bot.wording import Wording

_PICTURES = (StageMedia.PICTURE, StageMedia.ANSWER)


async def front(request: web.Request) -> web.StreamResponse:
    """`/stage`: on to the choir that meets now."""
    room = parts_of(request)
    choir = await room.services.lesson.choir_now()
    if choir is None:
        return room.pages.page("stage_none.html", {"sentence": room.pages.say("stage.empty")})
    raise web.HTTPSeeOther(f"/stage/{choir.id}")


async def stage(request: web.Request) -> web.StreamResponse:
    """`/stage/<choir>`: today's line, or the one that `?reading=` names."""
    room = parts_of(request)
    choir_id = request.match_info["choir"]
    try:
        way = Way(request.query.get("way", Way.PLAIN))
    except ValueError as error:
        raise web.HTTPNotFound from error
    try:
        line = await room.services.lesson.line(choir_id, request.query.get("reading"), way)
    except (NoExercise, Refused) as refused:
        if not isinstance(refused, NoExercise) and not refused.key.startswith("way."):
            raise
        none = {"sentence": refusal(room.pages.say, refused)}
        return room.pages.page("stage_none.html", none, status=409)
    except InputProblems as problems:
        return room.pages.page("stage_none.html", {"sentence": str(problems)}, status=409)
    following = await _following(room, choir_id, line.card.reading_id)
    say = room.pages.say
    values: dict[str, object] = {
        "card": line.card,
        "day": day_words(say, line.card.on, today_of(room, line.choir)),
        "pulse": pulse_name(line.card.metre),
        "score": json.dumps(_score(request, line, following), separators=(",", ":")),
        "choices": _choices(say, following),
        "study_s": line.study_s,
        "way": way,
        "bare": line.bare,
        "ways": ways_for(line.card.lines),
    }
    return room.pages.page("stage.html", values)


async def media(request: web.Request) -> web.StreamResponse:
    """`/stage/<choir>/<reading>/<part>/<kind>?shift=&bpm=`: a picture or sound as it is moved."""
    require_ticket(request)
    room, found = parts_of(request), request.match_info
    try:
        kind = StageMedia(found["kind"])
        half_steps = int(request.query.get("shift", "0"))
        bpm = int(request.query["bpm"]) if "bpm" in request.query else None
        way = Way(request.query.get("way", Way.PLAIN))
    except ValueError as error:
        raise web.HTTPNotFound from error
    try:
        data = await room.services.lesson.media(
            found["reading"], int(found["part"]), kind, half_steps, bpm, way
        )
    except Refused as refused:
        if refused.key == "stage.closed":
            raise web.HTTPForbidden from refused
        raise
    shape = Media.PICTURE_SVG if kind in _PICTURES else Media.KEY_SOUND
    return media_response(request, data, shape, keep="no-cache")


async def open_line(request: web.Request) -> web.StreamResponse:
    """`POST /stage/<choir>/<reading>/open`: the line was sung and may be heard from now on."""
    require_ticket(request)
    await parts_of(request).services.lesson.open(request.match_info["reading"])
    return web.Response(status=204)


async def read(request: web.Request) -> web.StreamResponse:
    """`POST /stage/<choir>/<reading>/read?way=`: today's line is read so; for the choir's plan."""
    require_ticket(request)
    try:
        way = Way(request.query.get("way", ""))
        if way is Way.LINE_BY_LINE:
            return web.Response(status=204)  # a plan has no such day
        kind = Kind.CARD if way is Way.PLAIN else Kind(way)
    except ValueError as error:
        raise web.HTTPNotFound from error
    await parts_of(request).services.plans.was_read(request.match_info["choir"], kind)
    return web.Response(status=204)


async def another(request: web.Request) -> web.StreamResponse:
    """`POST /stage/<choir>/<reading>/another`: a fresh line like it; where to find it."""
    require_ticket(request)
    room, found = parts_of(request), request.match_info
    try:
        way = Way(request.query.get("way", Way.PLAIN))
        fresh = await room.services.lesson.another(found["choir"], found["reading"], way)
    except ValueError as error:
        raise web.HTTPNotFound from error
    except NoExercise as refused:
        return web.json_response({"sentence": refusal(room.pages.say, refused)}, status=409)
    return web.json_response({"to": f"/stage/{found['choir']}?reading={fresh}"})


async def line_signs(request: web.Request) -> web.StreamResponse:
    """`/reading/<id>/signs/<part>/<arrangement>`: when each sign comes, in pulses."""
    found = request.match_info
    alone = Arrangement(found["arrangement"]) is Arrangement.APART
    lesson = parts_of(request).services.lesson
    signs = await lesson.signs(found["reading"], int(found["part"]) - 1, alone=alone)
    return web.json_response([asdict(sign) for sign in signs])


async def _following(room: Parts, choir_id: str, reading_id: str) -> str:
    """Where the stage goes on: back into the story that a line belongs to, else the next choir."""
    sung = await room.services.stories.tellings.sings(choir_id, reading_id)
    if sung is not None:
        return f"/stage/{choir_id}/story?sung={sung.value}"
    return f"/stage/{(await room.services.lesson.next_choir(choir_id)).id}"


def _first(following: str) -> Choice:
    """What stands marked at the end of a lesson."""
    return Choice.NEXT_CHOIR if "/story" in following else Choice.REST


def _choices(say: Wording, following: str) -> dict[str, str]:
    words = {choice.value: say(f"stage.choice.{choice}") for choice in Choice}
    if "/story" in following:
        words[Choice.NEXT_CHOIR.value] = say("telling.on")
    return words


def _score(request: web.Request, line: LessonLine, following: str) -> dict[str, Any]:
    """All that the page's script works with, as plain values."""
    room, card = parts_of(request), line.card
    hearing = line.choir.hearing is not Hearing.NEVER
    return {
        "ticket": ticket_of(request),
        "media": f"/stage/{line.choir.id}/{card.reading_id}",
        "choir": f"/stage/{line.choir.id}",
        "nextChoir": following,
        "keys": {key: press.value for key, press in KEYS.items()},
        "dials": {key: dial.value for key, dial in DIALS.items()},
        **_written_out(
            routine_table(max(card.measures, 1), hearing=hearing, first=_first(following))
        ),
        "signs": _signs(line.turned.page),
        "answer": _signs(line.turned.answer),
        "way": line.turned.way.value,
        "reading": card.reading_id,
        "hidden": list(line.turned.hidden),
        "keyChoices": [
            {
                "halfSteps": choice.half_steps,
                "name": str(draw_signs(choice.key_name, room.pages.say)),
                "spoken": choice.key_name,
                "beyond": choice.beyond,
            }
            for choice in line.reached
        ],
        "parts": [part.label for part in card.parts],
        "severalLines": card.lines > 1,
        "pulses": line.turned.pulses,
        "pickup": line.turned.pickup,
        "beats": card.pulses,
        "countIn": card.count_in,
        "bpm": card.tempo_bpm,
        "tempi": list(TEMPI),
        "givesPitch": card.gives_pitch,
        "words": _words(room, line, following),
    }


def _signs(parts: tuple[tuple[Sign, ...], ...]) -> list[list[dict[str, Any]]]:
    return [[asdict(sign) for sign in part] for part in parts]


def _written_out(table: RoutineTable) -> dict[str, Any]:
    """The table of the routine in plain values."""
    return {
        "states": [
            {
                "stop": state.stop.value,
                "running": state.running.value,
                "blank": state.blank,
                "spot": state.spot,
                "choice": state.choice.value,
            }
            for state in table.states
        ],
        "moves": [
            {press.value: [to, [effect.value for effect in effects]]
             for press, (to, effects) in row.items()}
            for row in table.moves
        ],
    }  # fmt: skip


def _words(room: Parts, line: LessonLine, following: str) -> dict[str, Any]:
    """Every sentence that the script may show; gaps stay open as {name}."""
    say: Wording = room.pages.say
    never = line.choir.hearing is Hearing.NEVER
    hints = {stop.value: say(f"stage.hint.{stop}") for stop in Stop}
    if not line.card.gives_pitch:
        hints[Stop.START.value] = say("stage.find.start")
    if line.trading:
        one, other = line.trading
        hints[Stop.SECOND.value] = say("stage.trade.second", one=one, other=other)
    return {
        "stops": {stop.value: say(f"stage.stop.{stop}") for stop in Stop},
        "hints": hints,
        "choices": _choices(say, following),
        "ticket": say("stage.ticket"),
        "lost": say("stage.lost"),
        "moment": say("stage.moment"),
        "wait": say("stage.wait"),
        "edge": say("stage.edge"),
        "unheard": say("stage.never_heard" if never else "stage.not_yet_heard"),
        "beyond": say("stage.beyond", key="{key}", part="{part}"),
        "tempo": say("stage.tempo", bpm="{bpm}"),
        "part": say("stage.part", part="{part}"),
        "heard": say("stage.heard", part="{part}"),
        "all": say("stage.hearing_line.both")
        if len(line.card.parts) == 2
        else say("stage.hearing_line.all"),
        "spot": say("stage.spot", measure="{measure}"),
        "droneOn": say("stage.drone_on"),
        "droneOff": say("stage.drone_off"),
        "dark": say("stage.dark"),
        "way": _way_words(say, line),
    }


def _turns(say: Wording, line: LessonLine) -> list[str]:
    """What is said of equal shares of what is sung, one after the other; none where all is one."""
    match line.turned.way:
        case Way.ECHO_HALVES:
            return [say("way.echo_one"), say("way.echo_other")] * 2
        case Way.LINE_BY_LINE:
            staffs = {part.line: part.label for part in reversed(line.turned.sung.parts)}
            each = [say("way.one_line", label=staffs[number]) for number in sorted(staffs)]
            return [*each, say("way.all_lines")]
        case _:
            return []


def _way_words(say: Wording, line: LessonLine) -> dict[str, Any]:
    """What is said of the way in which the line is read, and while the page is away."""
    way = line.turned.way
    new = line.turned.new
    return {
        "hint": say(f"way.hint.{way}"),
        "new": " ".join(
            [
                *([say("way.new", what=", ".join(new))] if new else []),
                *([say("way.wordless")] if line.turned.wordless else []),
            ]
        ),
        "answer": say("way.answer"),
        "turns": _turns(say, line),
        "tap": say("curtain.tap"),
        "tapped": say("curtain.tapped", bpm="{bpm}"),
        "strange": say("curtain.strange"),
        "away": say("curtain.away"),
        "back": say("curtain.back"),
        "lost": say("curtain.lost", count="{count}"),
        "count": say("curtain.count", left="{left}"),
        "counted": say("curtain.counted", count="{count}"),
        "quiet": say("curtain.quiet"),
        "aloud": say("curtain.aloud"),
    }
