"""Stories written at the desk: the shelf, a text with faults beside its lines, forms, the map."""

from __future__ import annotations

import asyncio
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from aiohttp import web
from markupsafe import Markup

from bot.activities.story import Story, Way
from bot.activities.story_check import StoryReport
from bot.activities.story_file import parse_story
from bot.activities.story_finding import Finding
from bot.activities.story_write import head_block, scene_block
from bot.chat.room.entry import desk_page
from bot.chat.room.pages import refusal
from bot.chat.room.parts import Parts, parts_of
from bot.chat.room.posted import Posted, read_posted
from bot.errors import InputProblems, Refused
from bot.music.voice import Voice
from bot.service.story_checking import check_loaded
from bot.service.story_files import LoadedStory
from bot.service.story_map import scene_list, story_map_svg
from bot.service.story_shelf import StoryShelf, story_id

_PATHS = (1, 2, 3)
_SYLLABLES = ("do", "re", "mi", "fa", "so", "la", "ti", "so,", "la,", "ti,", "do'")
_FIRST = "start"


@dataclass(frozen=True, slots=True, kw_only=True)
class LineView:
    """A line of the file, its number, and what was found there."""

    number: int
    text: str
    findings: tuple[Finding, ...]


async def shelf(request: web.Request) -> web.StreamResponse:
    """`/desk/stories`: every story, and where a new one begins."""
    return _shelf_page(request, {}, status=200)


async def new(request: web.Request) -> web.StreamResponse:
    """`POST /desk/stories`: a story from the form or from a file."""
    room, posted = parts_of(request), await read_posted(request)
    say = room.pages.say
    try:
        name, text = _brought(posted) or (posted.text("title"), _head(posted))
        chosen = story_id(name)
        if chosen in _shelf(room):
            raise Refused("story.desk.taken", name=chosen)
        await asyncio.to_thread(_shelf(room).keep, chosen, text)
    except Refused as refused:
        return _shelf_page(request, posted.fields, status=422, trouble=refusal(say, refused))
    raise web.HTTPSeeOther(f"/desk/stories/{chosen}")


async def write(request: web.Request) -> web.StreamResponse:
    """`/desk/stories/<id>`: the text, its faults beside its lines, the map."""
    return await _story_page(request, await _text(request))


async def keep(request: web.Request) -> web.StreamResponse:
    """`POST /desk/stories/<id>`: keep the text, sound or not yet."""
    room, posted = parts_of(request), await read_posted(request)
    text = posted.text("text")
    try:
        await asyncio.to_thread(_shelf(room).keep, request.match_info["story"], text)
    except Refused as refused:
        said = refusal(room.pages.say, refused)
        return await _story_page(request, text, status=422, trouble=said)
    return await _story_page(request, text, kept=True)


async def scene(request: web.Request) -> web.StreamResponse:
    """`POST /desk/stories/<id>/scene`: one more scene from the form, at the end."""
    room, posted = parts_of(request), await read_posted(request)
    names = ("id", "text", "sing", "way", "key")
    paths = [
        tuple(posted.text(f"{field}-{number}") for field in ("label", "syllable", "next"))
        for number in _PATHS
        if posted.text(f"label-{number}").strip()
    ]
    block = scene_block(
        {name: posted.text(name) for name in names},
        [(label, syllable, following) for label, syllable, following in paths],
        stop=bool(posted.text("stop")),
    )
    text = (await _text(request)).rstrip("\n") + "\n" + block
    try:
        await asyncio.to_thread(_shelf(room).keep, request.match_info["story"], text)
    except Refused as refused:
        said = refusal(room.pages.say, refused)
        return await _story_page(request, text, status=422, trouble=said)
    return await _story_page(request, text, kept=True)


def _shelf(room: Parts) -> StoryShelf:
    return room.services.content.stories


async def _text(request: web.Request) -> str:
    file = _shelf(parts_of(request)).get(request.match_info["story"])
    if file is None:
        raise web.HTTPNotFound
    return await asyncio.to_thread(file.read_text, encoding="utf-8", errors="replace")


def _brought(posted: Posted) -> tuple[str, str] | None:
    """Name and text of a file that was sent; None where none was."""
    file = posted.files.get("file")
    if file is None or (not file.name and not file.data):
        return None
    try:
        return file.name.rpartition(".")[0] or file.name, (file.data or b"").decode("utf-8")
    except UnicodeDecodeError as error:
        raise Refused("story.desk.no_text") from error


def _head(posted: Posted) -> str:
    steps = posted.text("steps").replace(",", " ").split()
    return head_block(
        title=posted.text("title").strip(),
        about=posted.text("about").strip(),
        grades=(posted.text("low"), posted.text("high")),
        voices=[voice for voice in posted.fields.get("voices", []) if voice],
        steps=steps,
        key=posted.text("key").strip(),
        finale=posted.text("finale"),
        start=_FIRST,
    )


def _shelf_page(
    request: web.Request, fields: Mapping[str, Sequence[str]], *, status: int, trouble: str = ""
) -> web.StreamResponse:
    room = parts_of(request)
    files = _shelf(room)
    values = {
        "stories": [(each, files.is_own(each)) for each in files],
        "fields": fields,
        "trouble": trouble,
        "voices": tuple(Voice),
    }
    return desk_page(request, "story_shelf.html", values, status=status)


async def _story_page(
    request: web.Request, text: str, *, status: int = 200, kept: bool = False, trouble: str = ""
) -> web.StreamResponse:
    room, name = parts_of(request), request.match_info["story"]
    story, report, findings = await asyncio.to_thread(_checked, room, name, text)
    say = room.pages.say
    lines = [
        LineView(
            number=number,
            text=line,
            findings=tuple(each for each in findings if max(each.line, 1) == number),
        )
        for number, line in enumerate(text.splitlines() or [""], start=1)
    ]
    values = {
        "name": name,
        "text": text,
        "lines": lines,
        "faults": sum(not each.warning for each in findings),
        "warnings": sum(each.warning for each in findings),
        "report": report,
        "kept": kept,
        "trouble": trouble,
        "own": _shelf(room).is_own(name),
        # Drawn by this program: plain outlines without text, links, styles or scripts.
        "map": Markup(story_map_svg(story, say)) if story else "",  # noqa: S704
        "map_words": tuple(scene_list(story, say)) if story else (),
        "scenes": tuple(each.id for each in story.scenes) if story else (),
        "ways": tuple(Way),
        "syllables": _SYLLABLES,
        "numbers": _PATHS,
    }
    return desk_page(request, "story_write.html", values, status=status)


def _checked(
    room: Parts, name: str, text: str
) -> tuple[Story | None, StoryReport | None, tuple[Finding, ...]]:
    """What can be said of a text: the story and its report where it can be read at all."""
    content = room.services.content
    try:
        story = parse_story(text, f"{name}.toml", name)
    except InputProblems as problems:
        return None, None, tuple(Finding(fault=each) for each in problems.faults)
    file = _shelf(room).get(name)
    assert file is not None, "only stories on the shelf have a page"
    report = check_loaded(LoadedStory(story=story, text=text, file=file), content)
    return story, report, report.findings
