"""The playful readings of the stage and the sheets, in one bundle."""

from __future__ import annotations

from dataclasses import dataclass

from bot.service.clips import Clips
from bot.service.curtains import Curtains
from bot.service.mystery import Mysteries


@dataclass(frozen=True, slots=True, kw_only=True)
class Play:
    """The curtain and its films, mystery tunes; readings turned another way need nothing of their own."""

    curtains: Curtains
    clips: Clips
    mysteries: Mysteries
