"""A story told at home: the scene of the day as a sheet on the board, its vote on a seat's page."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from aiohttp import web
from markupsafe import Markup

from bot.activities.choir import Choir
from bot.activities.story_run import Phase, Venue
from bot.chat.room.parts import Parts
from bot.chat.room.sheets import SheetView, sheet_of
from bot.music.solfa import Solfa
from bot.service.content import Content
from bot.service.signs import sign_svg
from bot.service.story_words import came_by, story_state
from bot.service.tellings import Told


@dataclass(frozen=True, slots=True, kw_only=True)
class StripView:
    """One path to vote for: its sign, its syllable, its words; `count` where it may be told."""

    number: int
    sign: Markup
    syllable: str
    label: str
    chosen: bool
    count: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class StoryView:
    """The scene of the day. `came_by` tells how the class came here, `state` how the vote stands.

    `mark` changes with everything that is seen. `line` is None for a scene without a line.
    """

    mark: str
    title: str
    paragraphs: tuple[str, ...]
    came_by: str
    line: SheetView | None
    strips: tuple[StripView, ...]
    state: str
    open: bool


def strips_of(told: Told, solfa: Solfa, content: Content) -> tuple[StripView, ...]:
    """The strips of the scene that is up."""
    outcome = told.run.outcome
    counts = outcome.counts if outcome is not None else None
    return tuple(
        StripView(
            number=number,
            sign=Markup(sign_svg(content, path.syllable)),  # noqa: S704 - a drawing of our own
            syllable=solfa.name(path.syllable, told.key_after(path)),
            label=path.label,
            chosen=number == told.run.path,
            count=counts[number] if counts is not None else None,
        )
        for number, path in enumerate(told.scene.paths)
    )


async def story_at_home(room: Parts, choir: Choir, today: date) -> StoryView | None:
    """The scene that a choir is told at home; None where no story is told there."""
    tellings = room.services.stories.tellings
    told = await tellings.now(choir.id)
    if told is None or told.run.venue is not Venue.HOME:
        return None
    reading = await tellings.reading(choir.id)
    if told.scene.ending and (finale := await tellings.finale(choir.id)) is not None:
        reading = finale
    line = None
    if reading is not None:
        card = await room.services.readings.card(reading)
        line = sheet_of(card, choir, room.pages.say, today=today, unfolded=True)
    run, say = told.run, room.pages.say
    return StoryView(
        mark=f"story-{told.telling.id}-{told.calls}",
        title=told.music.story.title,
        paragraphs=tuple(told.scene.text.split("\n\n")),
        came_by=came_by(told, say),
        line=line,
        strips=strips_of(told, choir.presentation.solfa, room.services.content),
        state=story_state(told, choir, say),
        open=run.phase is Phase.VOTING and not run.paused,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class SeatVote:
    """The scene of the day with the seat's own ballot; None before it has one."""

    story: StoryView
    path: int | None


async def vote_of(room: Parts, choir: Choir, today: date, seat_id: str) -> SeatVote | None:
    """The vote that a seat may take part in now."""
    ballot = await room.services.stories.votes.ballot(seat_id)
    if ballot is None:
        return None
    story = await story_at_home(room, choir, today)
    return None if story is None else SeatVote(story=story, path=ballot.path)


def path_of(text: str) -> int:
    """The number of a path as a form sent it; 400 for anything else."""
    if text not in ("0", "1", "2"):
        raise web.HTTPBadRequest
    return int(text)
