"""A choir's rules of the match at the desk: changed, taken back, out and in as a file."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from aiohttp import web

from bot.activities.choir import Choir
from bot.activities.match_rules import CardWhen, Ending, Stand
from bot.chat.room.entry import desk_page
from bot.chat.room.parts import choir_of, parts_of
from bot.chat.room.posted import Posted, by_field, read_posted
from bot.errors import Fault, InputProblems
from bot.service.match_rules_form import FIELDS, GROUPS, rules_fields
from bot.wording import Wording

_Choices = Mapping[str, Sequence[tuple[str, str]]]

_FILE = "rules.toml"
_DONE = {"kept": "match.rules.kept", "back": "match.rules.went_back"}


async def form(request: web.Request) -> web.StreamResponse:
    """`/desk/choir/<id>/match/rules`: what the choir's next match is played by."""
    choir = await choir_of(request)
    fields = rules_fields(await parts_of(request).services.matches.house.of(choir.id))
    done = _DONE.get(request.query.get("done", ""))
    return await _page(request, choir, fields, status=200, done=done)


async def keep(request: web.Request) -> web.StreamResponse:
    """`POST .../match/rules`: keep them as the choir's own, or tell all faults in place."""
    choir, posted = await choir_of(request), await read_posted(request)
    try:
        await parts_of(request).services.matches.house.keep(choir.id, posted.fields)
    except InputProblems as problems:
        return await _page(request, choir, posted.fields, status=422, faults=problems.faults)
    raise web.HTTPSeeOther(f"/desk/choir/{choir.id}/match/rules?done=kept")


async def take(request: web.Request) -> web.StreamResponse:
    """`POST .../match/rules/file`: keep what a file says, or tell all its faults by their lines."""
    choir, posted = await choir_of(request), await read_posted(request)
    room = parts_of(request)
    house, say = room.services.matches.house, room.pages.say
    try:
        await house.take(choir.id, _text(posted, say), _FILE)
    except InputProblems as problems:
        fields = rules_fields(await house.of(choir.id))
        told = [str(fault) for fault in problems.faults]
        return await _page(request, choir, fields, status=422, taken=(posted.text("typed"), told))
    raise web.HTTPSeeOther(f"/desk/choir/{choir.id}/match/rules?done=kept")


async def back(request: web.Request) -> web.StreamResponse:
    """`POST .../match/rules/back`: play by the usual rules again."""
    choir = await choir_of(request)
    await parts_of(request).services.matches.house.back(choir.id)
    raise web.HTTPSeeOther(f"/desk/choir/{choir.id}/match/rules?done=back")


async def file(request: web.Request) -> web.StreamResponse:
    """`.../match/rules.toml`: the same rules as the documented file."""
    choir, house = await choir_of(request), parts_of(request).services.matches.house
    return web.Response(
        text=house.file(await house.of(choir.id)),
        content_type="application/toml",
        charset="utf-8",
        headers={"Content-Disposition": f'attachment; filename="{_FILE}"'},
    )


async def _page(
    request: web.Request,
    choir: Choir,
    fields: Mapping[str, Sequence[str]],
    *,
    status: int,
    faults: Sequence[Fault] = (),
    taken: tuple[str, Sequence[str]] = ("", ()),
    done: str | None = None,
) -> web.StreamResponse:
    room = parts_of(request)
    house, say = room.services.matches.house, room.pages.say
    own, choices = await house.own(choir.id), _choices(say)
    values = {
        "choir": choir,
        "groups": GROUPS,
        "choices": choices,
        "usual": _in_words(rules_fields(house.usual), choices, say),
        "fields": fields,
        "faults": by_field(sorted(faults, key=lambda fault: FIELDS.index(fault.place))),
        "typed": taken[0],
        "file_faults": taken[1],
        "own": own is not None,
        "file": house.file(own or house.usual),
        "done": None if done is None else say(done),
        "goes_on": await room.services.matches.open_of(choir.id) is not None,
    }
    return desk_page(request, "match_rules.html", values, status=status)


def _text(posted: Posted, say: Wording) -> str:
    """What was pasted, else the file that was brought; InputProblems where it is no text."""
    typed, file = posted.text("typed"), posted.files.get("file")
    if typed.strip():
        return typed
    if file is None or file.data == b"":
        raise InputProblems([Fault(place="", problem=say("match.rules.nothing"))])
    text = None if file.data is None else _decoded(file.data)  # None where it is far too long
    if text is None:
        raise InputProblems([Fault(place="", problem=say("match.rules.no_text"))])
    return text


def _decoded(data: bytes) -> str | None:
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return None


def _choices(say: Wording) -> _Choices:
    """Each value of every choice with its words."""
    return {
        "stand": [(one.value, say(f"match.rules.stand.{one.name.lower()}")) for one in Stand],
        "ending": [(one.value, say(f"match.rules.ending.{one.name.lower()}")) for one in Ending],
        "card": [(one.value, say(f"match.rules.card.{one.name.lower()}")) for one in CardWhen],
    }


def _in_words(
    fields: Mapping[str, Sequence[str]], choices: _Choices, say: Wording
) -> dict[str, str]:
    """The usual value of every field as its hint tells it."""
    told = {name: values[0] for name, values in fields.items()}
    chosen = {name: dict(words)[told[name]] for name, words in choices.items()}
    return {name: text or say("match.rules.not_offered") for name, text in (told | chosen).items()}
