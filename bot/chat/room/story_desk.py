"""Stories at the desk of a choir: choose one, begin it, settle and end it, see what was told."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import time

from aiohttp import web
from markupsafe import Markup

from bot.activities.calendar import local_day
from bot.activities.story import Story
from bot.activities.story_run import Chosen, Ended, Event, Paused, Phase, Resumed, Undone, Venue
from bot.chat.room.entry import desk_page
from bot.chat.room.making import OnItsWay, on_its_way
from bot.chat.room.pages import refusal
from bot.chat.room.parts import Parts, parts_of
from bot.chat.room.posted import read_posted
from bot.chat.room.story_sheet import path_of, strips_of
from bot.errors import InputProblems, Refused
from bot.service.content import Content
from bot.service.makings import Made
from bot.service.story_files import story_of
from bot.service.story_map import story_map_svg
from bot.service.story_wish import StoryWish, wish_json, wish_kept
from bot.service.story_words import story_state
from bot.service.tellings import votes_allowed

_QUORUMS = range(1, 401)


@dataclass(frozen=True, slots=True, kw_only=True)
class OnShelf:
    """A story that can be chosen with the names of its steps, or the faults of its file."""

    id: str
    story: Story | None
    steps: tuple[str, ...] = ()
    faults: tuple[str, ...] = ()


async def page(request: web.Request) -> web.StreamResponse:
    """`/desk/choir/<id>/story`."""
    return await _page(request, ())


async def begin(request: web.Request) -> web.StreamResponse:
    """`POST /desk/choir/<id>/story/begin`: have it composed, and its first scene opened."""
    room, posted = parts_of(request), await read_posted(request)
    choir_id = request.match_info["choir"]
    try:
        venue, closes = Venue(posted.text("venue")), time.fromisoformat(posted.text("closes"))
        quorum = int(posted.text("quorum"))
    except ValueError as error:
        raise web.HTTPBadRequest from error
    if quorum not in _QUORUMS:
        raise web.HTTPBadRequest
    try:
        wish = StoryWish(story_id=posted.text("story"), venue=venue, closes=closes, quorum=quorum)
        await _ask(room, choir_id, wish)
    except InputProblems as problems:
        return await _page(request, [str(fault) for fault in problems.faults])
    except Refused as refused:
        return await _page(request, [refusal(room.pages.say, refused)])
    raise web.HTTPSeeOther(f"/desk/choir/{choir_id}/story")


async def _ask(room: Parts, choir_id: str, wish: StoryWish) -> None:
    """Have a story composed; a second press changes nothing. InputProblems of its file."""
    story_of(room.services.content, wish.story_id)
    await room.services.stories.tellings.may_begin(choir_id, wish.venue)
    await room.services.makings.ask(choir_id, Made.STORY, wish_json(wish))


async def call(request: web.Request) -> web.StreamResponse:
    """`POST /desk/choir/<id>/story/<call>`: what the director calls from the desk."""
    room, posted = parts_of(request), await read_posted(request)
    choir_id = request.match_info["choir"]
    choir = await room.services.choirs.get(choir_id)
    today = local_day(room.services.clock.now(), choir.zone)
    stories = room.services.stories
    event: Event
    try:
        match request.match_info["call"]:
            case "close":
                await stories.votes.close_vote(choir_id)
                raise web.HTTPSeeOther(f"/desk/choir/{choir_id}/story")
            case "choose":
                event = Chosen(path=path_of(posted.text("path")))
            case "pause":
                event = Paused()
            case "resume":
                event = Resumed(on=today)
            case "undo":
                event = Undone()
            case _:
                event = Ended()
        await stories.tellings.call(choir_id, event)
    except Refused as refused:
        return await _page(request, [refusal(room.pages.say, refused)])
    raise web.HTTPSeeOther(f"/desk/choir/{choir_id}/story")


async def _page(request: web.Request, faults: Sequence[str]) -> web.StreamResponse:
    room = parts_of(request)
    choir = await room.services.choirs.get(request.match_info["choir"])
    today = local_day(room.services.clock.now(), choir.zone)
    tellings = room.services.stories.tellings
    told = await tellings.now(choir.id)
    making, failed = await on_its_way(room, choir.id, Made.STORY)
    sheet = await room.services.seating.approvals.current(choir.id, today)
    values: dict[str, object] = {
        "choir": choir,
        "faults": (*failed, *faults),
        "told": told,
        "making": None if told else making,
        "title": _title(room.services.content, making) if making else "",
        "shelf": () if told or making else tuple(_shelf(room.services.content)),
        "may_vote": votes_allowed(sheet),
        "past": [
            (each.music.story.title, room.pages.say.date(each.telling.began_on))
            for each in await tellings.past(choir.id)
        ],
    }
    if told is not None:
        values |= {
            "map": Markup(  # noqa: S704 - a drawing of our own
                story_map_svg(told.music.story, room.pages.say, told.run.scenes)
            ),
            "strips": strips_of(told, choir.presentation.solfa, room.services.content),
            "state": story_state(told, choir, room.pages.say),
            "asks": told.run.phase is Phase.QUESTION,
            "voting": told.run.phase is Phase.VOTING and told.run.venue is Venue.HOME,
            "in_class": told.run.venue is Venue.CLASS,
        }
    return desk_page(request, "story_desk.html", values, status=409 if faults else 200)


def _title(content: Content, making: OnItsWay) -> str:
    """What the story is called that is composed; its id where its file went meanwhile."""
    story_id = wish_kept(making.wish).story_id
    try:
        return story_of(content, story_id).story.title
    except InputProblems:
        return story_id


def _shelf(content: Content) -> Iterator[OnShelf]:
    for story_id in content.stories:
        try:
            story = story_of(content, story_id).story
            order = content.sequences.get(story.sequence)
            names = {step.id: step.name for step in order.steps} if order else {}
            steps = tuple(names.get(each, each) for each in story.steps)
            yield OnShelf(id=story_id, story=story, steps=steps)
        except InputProblems as problems:
            yield OnShelf(id=story_id, story=None, faults=tuple(map(str, problems.faults)))
