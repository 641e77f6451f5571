"""The bundle of use cases that every surface receives, and how it is put together."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from bot.service.approvals import Circumstances
from bot.service.changes import Changes, Listener
from bot.service.choirs import Choirs
from bot.service.clock import Clock
from bot.service.composing import Composing
from bot.service.content import Content
from bot.service.deliver import CardMaker, Deliver
from bot.service.desk import Desk
from bot.service.discord_links import DiscordLinks
from bot.service.lesson import Lesson
from bot.service.makings import Makings
from bot.service.match_lines import SLOT as MATCH
from bot.service.matches import Matches
from bot.service.media_requests import MediaSource
from bot.service.outlet import Outlets
from bot.service.pacing import Pacing
from bot.service.papers import Papers, assemble_papers
from bot.service.plans import Plans
from bot.service.play import Play, assemble_play
from bot.service.preparing import Preparing
from bot.service.readings import Readings
from bot.service.scheduler import Scheduler
from bot.service.score_posting import ScoreCards, ScorePosting
from bot.service.seating import Seating, assemble_seating
from bot.service.status import StatusPage
from bot.service.stories import Stories, assemble_stories
from bot.service.story_posting import StoryPosting
from bot.service.story_reading import STORY
from bot.service.troubles import Troubles
from bot.service.wished import assemble_makings
from bot.store.database import Database


@dataclass(frozen=True, slots=True, kw_only=True)
class Services:
    """Everything that a surface may call; `await services.status()` gives the status."""

    content: Content
    clock: Clock
    choirs: Choirs
    readings: Readings
    lesson: Lesson
    desk: Desk
    status: StatusPage
    papers: Papers
    play: Play
    seating: Seating
    discord: DiscordLinks
    matches: Matches
    stories: Stories
    plans: Plans
    pacing: Pacing
    makings: Makings


@dataclass(frozen=True, slots=True, kw_only=True)
class Assembly:
    """The services with what drives them: connect surfaces to `outlets`, then run `scheduler`."""

    services: Services
    changes: Changes
    composing: Composing
    outlets: Outlets
    preparing: Preparing
    scheduler: Scheduler
    story_posting: StoryPosting
    score_posting: ScorePosting


def assemble(
    database: Database,
    content: Content,
    media: MediaSource,
    clock: Clock,
    folder: Path,
    circumstances: Circumstances | None = None,
) -> Assembly:
    """Put the use cases together over an open database; nothing runs yet.

    `folder` is the data folder, whose size the status page tells and where the keys of seats lie.
    `circumstances`: how the room is reached, loopback only where nothing is said.
    """
    changes, troubles, outlets, bell = Changes(), Troubles(), Outlets(), Listener()
    choirs = Choirs(database, clock, changes, content.wording, troubles)
    seating = assemble_seating(database, clock, choirs, folder, circumstances)
    pacing = Pacing(database, choirs, content, clock, seating.approvals)
    composing = Composing(database, content, pacing.focus)
    stories = assemble_stories(database, choirs, content, seating.approvals, clock, changes)
    matches = Matches(database, choirs, content, clock, changes, composing.tables)
    scores = ScoreCards(database, matches, content)
    deliver = Deliver(database, composing, clock, content.wording, _makers(stories, scores))
    readings = Readings(
        database=database,
        choirs=choirs,
        composing=composing,
        deliver=deliver,
        media=media,
        clock=clock,
        changes=changes,
        troubles=troubles,
        say=content.wording,
        outlets=outlets,
    )
    preparing = _preparing(choirs, composing, media, clock, bell, troubles)
    papers = assemble_papers(database, choirs, composing, content, media, clock)
    play = assemble_play(database, choirs, composing, content, media, clock)
    services = Services(
        content=content,
        clock=clock,
        choirs=choirs,
        readings=readings,
        lesson=Lesson(database, choirs, composing, content, media, clock),
        desk=Desk(database),
        status=StatusPage(database, choirs, clock, troubles, content.wording, folder),
        papers=papers,
        play=play,
        seating=seating,
        discord=DiscordLinks(database, clock, changes),
        matches=matches,
        stories=stories,
        plans=Plans(database, choirs, content, clock, play.mysteries.any_for),
        pacing=pacing,
        makings=assemble_makings(database, troubles, stories.tellings, matches, papers.partners),
    )
    return Assembly(
        services=services,
        changes=changes,
        composing=composing,
        outlets=outlets,
        preparing=preparing,
        scheduler=_scheduler(choirs, deliver, outlets, clock, changes, preparing, bell, troubles),
        story_posting=_story_posting(stories, choirs, composing, deliver, outlets, clock, changes),
        score_posting=ScorePosting(scores, choirs, deliver, outlets, clock, changes),
    )


def _makers(stories: Stories, scores: ScoreCards) -> Mapping[str, CardMaker]:
    """Who makes the cards of slots other than the daily one."""
    return {STORY: stories.cards.card, MATCH: scores.card}


def _story_posting(
    stories: Stories,
    choirs: Choirs,
    composing: Composing,
    deliver: Deliver,
    outlets: Outlets,
    clock: Clock,
    changes: Changes,
) -> StoryPosting:
    return StoryPosting(
        tellings=stories.tellings,
        choirs=choirs,
        composing=composing,
        deliver=deliver,
        outlets=outlets,
        clock=clock,
        changes=changes,
    )


def _preparing(
    choirs: Choirs,
    composing: Composing,
    media: MediaSource,
    clock: Clock,
    bell: Listener,
    troubles: Troubles,
) -> Preparing:
    return Preparing(
        choirs=choirs, composing=composing, media=media, clock=clock, bell=bell, troubles=troubles
    )


def _scheduler(
    choirs: Choirs,
    deliver: Deliver,
    outlets: Outlets,
    clock: Clock,
    changes: Changes,
    preparing: Preparing,
    bell: Listener,
    troubles: Troubles,
) -> Scheduler:
    return Scheduler(
        choirs=choirs,
        deliver=deliver,
        outlets=outlets,
        clock=clock,
        changes=changes,
        preparing=preparing,
        preparing_bell=bell,
        troubles=troubles,
    )
