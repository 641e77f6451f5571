"""Who makes what in the background, put together."""

from __future__ import annotations

from functools import partial

from bot.service.makings import Made, Makings
from bot.service.match_wish import set_up_wished
from bot.service.matches import Matches
from bot.service.story_wish import begin_wished
from bot.service.tellings import Tellings
from bot.service.troubles import Troubles
from bot.store.database import Database


def assemble_makings(
    database: Database, troubles: Troubles, tellings: Tellings, matches: Matches
) -> Makings:
    """Stories are begun and matches set up; nothing runs yet."""
    makers = {
        Made.STORY: partial(begin_wished, tellings),
        Made.MATCH: partial(set_up_wished, matches),
    }
    return Makings(database, troubles, makers)
