"""How the page of a reading is written out: as the choir wishes, and bare where it has no tones."""

from __future__ import annotations

from bot.activities.choir import Choir
from bot.activities.reading import Reading
from bot.music.page_options import PageOptions
from bot.music.turns import rhythm_only


def page_shown(reading: Reading, choir: Choir) -> PageOptions:
    """The choir's page; a reading of rhythm alone stands on one line whatever the choir wishes.

    Such a reading, as some published ones are, has all its notes on do.
    """
    page = choir.presentation.page
    return page.bare_rhythm() if reading.exercise == rhythm_only(reading.exercise) else page
