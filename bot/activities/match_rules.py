"""The rules of the match as values, and what rules must not say together."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from types import MappingProxyType

MOST_TURNS = 12  # of one side
LENGTHS = (4, 8)  # measures that a line may have
SECONDS = (5, 600)  # of study, the fewest and the most
LONGEST_NAME = 16  # characters of a side's name: the board writes it large

# Every whole number of the rules with its least and its greatest value.
WHOLE: Mapping[str, tuple[int, int]] = MappingProxyType(
    {
        "turns": (1, MOST_TURNS),
        "phrases": (1, 8),
        "read": (1, 20),
        "nearly": (0, 20),
        "good": (1, 160),
        "group_least": (1, 12),
        "group_most": (1, 12),
        "throws": (0, 5),
        "claims": (0, 9),
        "claim": (0, 20),
    }
)


class Side(StrEnum):
    """The two pages of the folder."""

    LEFT = "left"
    RIGHT = "right"

    @property
    def other(self) -> Side:
        """The side across."""
        return Side.RIGHT if self is Side.LEFT else Side.LEFT


class Ending(StrEnum):
    """How a match ends."""

    JOINT = "joint"  # with a line that both sides read, for both
    LAST_TURN = "last turn"


class Stand(StrEnum):
    """How a row of a part falls to the two sides."""

    COUNTED = "counted"  # each counts off, and single numbers are drawn
    TOGETHER = "together"  # neighbours stay together: one stretch of the row, drawn where it begins


class CardWhen(StrEnum):
    """When the score goes up as a card in the class's chat."""

    NEVER = "never"
    END = "end"
    TURNS = "turns"


class Breach(StrEnum):
    """What single values cannot show: rules that do not go together."""

    PHRASES = "phrases"  # more phrases than measures
    NEARLY = "nearly"  # nearly brings more than read
    GOOD = "good"  # no reading could be good
    AIM = "aim"  # throws could bring as much as a line
    GROUP = "group"  # the fewest of a group are more than the most
    NAMES = "names"  # both sides have one name


@dataclass(frozen=True, slots=True, kw_only=True)
class Rules:
    """What a house plays by. `study` are seconds by measures of a line; the rest counts points.

    `throws` is how many throws of one turn count at most, `group` the fewest and most singers
    that throw together. `stand` is how the sides are counted off, `card` when the score is posted.
    """

    turns: int = 4
    study: Mapping[int, int] = field(default_factory=lambda: MappingProxyType({4: 20, 8: 30}))
    phrases: int = 2
    read: int = 2
    nearly: int = 1
    good: int = 3
    group: tuple[int, int] = (3, 4)
    throws: int = 3
    claims: int = 1
    claim: int = 1
    stand: Stand = Stand.COUNTED
    ending: Ending = Ending.JOINT
    card: CardWhen = CardWhen.END
    left: str = "Left page"
    right: str = "Right page"

    @property
    def points(self) -> tuple[int, int, int]:
        """What a phrase may bring: not yet, nearly, read."""
        return (0, self.nearly, self.read)

    @property
    def most(self) -> int:
        """What a line brings when every phrase is read."""
        return self.phrases * self.read

    def name(self, side: Side) -> str:
        """What the house calls a side."""
        return self.left if side is Side.LEFT else self.right


def breaches(rules: Rules) -> Mapping[str, Breach]:
    """What does not go together, each by the key that is to be changed."""
    found = {
        "phrases": (Breach.PHRASES, any(rules.phrases > measures for measures in rules.study)),
        "nearly": (Breach.NEARLY, rules.nearly > rules.read),
        "good": (Breach.GOOD, rules.good > rules.most),
        "throws": (Breach.AIM, rules.throws >= rules.most),
        "group_least": (Breach.GROUP, rules.group[0] > rules.group[1]),
        "right": (Breach.NAMES, rules.left.strip() == rules.right.strip()),
    }
    return {key: breach for key, (breach, broken) in found.items() if broken}
