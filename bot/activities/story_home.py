"""What a telling at home does by itself: a scene a meeting day, its vote, its close. Pure."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import assert_never

from bot.activities.story import Story
from bot.activities.story_run import (
    Advanced,
    Ended,
    Event,
    Phase,
    StoryRun,
    Venue,
    VoteClosed,
    VoteOpened,
    scene_of,
)
from bot.activities.vote import of_ballots


@dataclass(frozen=True, slots=True, kw_only=True)
class Moment:
    """When it is for a choir: `today` is its date, `due` and `closes_at` are today's, in UTC.

    `meets` tells whether the choir meets today, `due` when its reading goes up.
    """

    now: datetime
    today: date
    meets: bool
    due: datetime
    closes_at: datetime


def by_itself(story: Story, run: StoryRun, moment: Moment, counts: tuple[int, ...]) -> Event | None:
    """What a telling at home does by itself at a moment; `counts` are the ballots cast.

    A scene a meeting day: its vote opens when readings go up and closes the same day. A laptop that
    slept over the whole day opens the vote on the next one; nothing is skipped. A vote closes in a
    pause too, so that no ballot outlasts its day.
    """
    if run.venue is not Venue.HOME or (run.paused and run.phase is not Phase.VOTING):
        return None
    open_now = moment.meets and moment.due <= moment.now
    match run.phase:
        case Phase.VOTING:
            assert run.vote is not None
            closes_at = run.vote.closes_at
            if closes_at is None or moment.now < closes_at:
                return None
            return VoteClosed(outcome=of_ballots(counts, run.quorum))
        case Phase.CHOSEN:
            later = moment.today > run.scene_on
            return Advanced(on=moment.today) if later and open_now else None
        case Phase.TELLING if scene_of(story, run).paths:
            if open_now and moment.now < moment.closes_at:
                return VoteOpened(closes_at=moment.closes_at, quorum=run.quorum)
            return None
        case Phase.TELLING:
            return Ended() if moment.today > run.scene_on else None
        case Phase.QUESTION | Phase.ENDED:
            return None
    assert_never(run.phase)
