"""Stories as they are told to choirs, in one bundle."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial

from bot.activities.story_json import set_story_from_json
from bot.service.approvals import Approvals
from bot.service.changes import Changes
from bot.service.choirs import Choirs
from bot.service.clock import Clock
from bot.service.content import Content
from bot.service.story_frozen import set_for_choir
from bot.service.story_posting import StoryCards
from bot.service.story_votes import StoryVotes
from bot.service.tellings import Tellings
from bot.store.database import Database


@dataclass(frozen=True, slots=True, kw_only=True)
class Stories:
    """Tellings by the director's calls, the votes from home, the cards of their scenes."""

    tellings: Tellings
    votes: StoryVotes
    cards: StoryCards


def assemble_stories(
    database: Database,
    choirs: Choirs,
    content: Content,
    approvals: Approvals,
    clock: Clock,
    changes: Changes,
) -> Stories:
    """Put it together over an open database."""
    tellings = Tellings(
        database=database,
        choirs=choirs,
        content=content,
        approvals=approvals,
        clock=clock,
        changes=changes,
        setting=partial(set_for_choir, content),
        frozen=set_story_from_json,
    )
    votes = StoryVotes(
        database=database,
        tellings=tellings,
        choirs=choirs,
        approvals=approvals,
        clock=clock,
        changes=changes,
    )
    return Stories(tellings=tellings, votes=votes, cards=StoryCards(tellings, content))
