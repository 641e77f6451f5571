"""Who makes what in the background, put together."""

from __future__ import annotations

from functools import partial

from bot.service.makings import Made, Make, Makings
from bot.service.match_wish import set_up_wished
from bot.service.matches import Matches
from bot.service.partners_desk import PartnersDesk
from bot.service.story_wish import begin_wished
from bot.service.tellings import Tellings
from bot.service.troubles import Troubles
from bot.store.database import Database


def assemble_makings(
    database: Database,
    troubles: Troubles,
    tellings: Tellings,
    matches: Matches,
    partners: PartnersDesk,
) -> Makings:
    """Stories are begun, matches set up, partner lines composed; nothing runs yet."""
    makers: dict[Made, Make] = {
        Made.STORY: partial(begin_wished, tellings),
        Made.MATCH: partial(set_up_wished, matches),
        Made.PARTNERS: partners.compose_wished,
    }
    return Makings(database, troubles, makers)
