"""One moment of a match as values: its setup, its score, whose turn it is."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from bot.activities.match_rules import Rules, Side
from bot.activities.match_sides import Sides


class Stop(StrEnum):
    """Where the match is."""

    READY = "ready"  # the side's line is not up yet
    STUDY = "study"
    READING = "reading"
    LISTEN = "listen"  # the other side may claim a slip
    MEASURE = "measure"
    BEAT = "beat"
    CLAIM = "claim"  # the director says whether there was one
    ANSWER = "answer"  # the listening side reads the place
    TOSS = "toss"
    DONE = "done"


class Source(StrEnum):
    """What points were earned by."""

    READING = "reading"
    CLAIM = "claim"
    THROW = "throw"


@dataclass(frozen=True, slots=True, kw_only=True)
class LineShape:
    """What has to be known of a line: its measures and the felt beats of each."""

    measures: int
    beats: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Setup:
    """What a match begins with. `lines` has one for each turn in order and, last, the joint one."""

    rules: Rules
    sides: Sides
    turns: int
    lines: tuple[LineShape, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Gain:
    """Points of one call; for a joint reading there is one of each side."""

    side: Side
    points: int
    source: Source


@dataclass(frozen=True, slots=True, kw_only=True)
class Match:
    """One moment of a match.

    `turn` counts from 0; the joint reading comes after the last turn. `pairs` is how many turns of
    each side are played. `thrown` are groups that threw so far, left and right, `throwing` those
    that throw now. `place` is the measure and beat of a claim, each 0 while it is not said. `calls`
    counts what is in force.
    """

    setup: Setup
    pairs: int
    turn: int = 0
    stop: Stop = Stop.READY
    verdicts: tuple[int, ...] = ()
    gains: tuple[Gain, ...] = ()
    thrown: tuple[int, int] = (0, 0)
    throwing: tuple[int, int] = (0, 0)
    claims: int = 0
    place: tuple[int, int] = (0, 0)
    reminded: bool = False
    resting: bool = False
    calls: int = 0

    @property
    def joint(self) -> bool:
        """Whether both sides read, or throw, for both."""
        return self.turn >= 2 * self.pairs

    @property
    def side(self) -> Side | None:
        """Whose turn it is; None where it is both sides'."""
        begins = self.setup.sides.begins
        return None if self.joint else (begins if self.turn % 2 == 0 else begins.other)

    @property
    def line(self) -> int:
        """The number of the line that is read, as `Setup.lines` counts them."""
        return 2 * self.setup.turns if self.joint else self.turn

    @property
    def shape(self) -> LineShape:
        """The line that is read; the last one where the match ends without a joint one."""
        return self.setup.lines[min(self.line, len(self.setup.lines) - 1)]

    def score(self, side: Side) -> int:
        """Points of a side so far."""
        return sum(gain.points for gain in self.gains if gain.side is side)

    def turns_left(self, side: Side) -> int:
        """Turns of a side until the end, the one that goes on included."""
        if self.joint:
            return 0
        return self.pairs - (self.turn // 2) - (self.turn % 2 == 1 and side is not self.side)

    @property
    def good(self) -> bool:
        """Whether the reading was good enough for a group to throw."""
        points = self.setup.rules.points
        return sum(points[verdict] for verdict in self.verdicts) >= self.setup.rules.good
