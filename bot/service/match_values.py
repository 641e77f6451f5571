"""Matches as the stage, the referee's page and the desk are told of them: plain values."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from bot.activities.match_call import Call
from bot.activities.match_sides import Heads
from bot.activities.match_state import Match
from bot.service.card import ReadingCard
from bot.service.lesson_line import Sign


@dataclass(frozen=True, slots=True, kw_only=True)
class MatchWish:
    """What a match is set up with: heads of each part today, length of a line, turns of a side."""

    heads: tuple[Heads, ...]
    measures: int
    turns: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Played:
    """A match as it stands, after every call of its journal."""

    id: str
    choir_id: str
    on: date
    number: int
    match: Match
    journal: tuple[Call, ...]
    lines: tuple[str, ...]

    @property
    def revision(self) -> int:
        """How many calls were ever made in it, those taken back and their undoing among them."""
        return len(self.journal)

    @property
    def reading_id(self) -> str:
        """The reading of this turn; the last one that was read where nothing is left to read."""
        return self.lines[min(self.match.line, len(self.lines) - 1)]


@dataclass(frozen=True, slots=True, kw_only=True)
class MatchLine:
    """A line of a match as the board needs it; `pages` holds the signs of each part's picture.

    `pulses` and `pickup` count felt beats of the whole line.
    """

    card: ReadingCard
    pages: tuple[tuple[Sign, ...], ...]
    pulses: float
    pickup: float


@dataclass(frozen=True, slots=True, kw_only=True)
class MatchSum:
    """A match in the list of a term; the sides were drawn for it alone."""

    id: str
    on: date
    number: int
    ended: bool
    left_name: str
    right_name: str
    left: int
    right: int
