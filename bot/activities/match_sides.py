"""Two sides of a match drawn by part, from heads alone; who stands where is counted off.

Nobody is named. Each part counts off from 1 in the order in which it stands, and the draw says
which numbers go to the left page; the same draw is made again from its seed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from random import Random

from bot.activities.match_rules import Rules, Side
from bot.errors import Refused

MOST_HEADS = 120  # of one part


@dataclass(frozen=True, slots=True, kw_only=True)
class Heads:
    """How many singers a part has today; `label` is what the class calls it."""

    label: str
    count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class PartSplit:
    """The numbers of one part on each page, counted off from 1."""

    label: str
    left: tuple[int, ...]
    right: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Sides:
    """The draw of one match: its parts, who begins, and how many rows each side has.

    The sides differ by one singer at most, in every part and in all, and have equally many rows.
    """

    parts: tuple[PartSplit, ...]
    begins: Side
    rows: int

    def size(self, side: Side) -> int:
        """Singers of a side."""
        return sum(len(part.left if side is Side.LEFT else part.right) for part in self.parts)

    def row_sizes(self, side: Side) -> tuple[int, ...]:
        """Singers of each row of a side, as even as can be, the larger ones first."""
        each, more = divmod(self.size(side), self.rows)
        return tuple(each + (row < more) for row in range(self.rows))


def draw_sides(heads: Sequence[Heads], rules: Rules, seed: int) -> Sides:
    """Draw fresh sides; Refused("match.heads") where there are too few or too many to be two."""
    if not all(0 <= part.count <= MOST_HEADS for part in heads):
        raise Refused("match.heads", most=MOST_HEADS)
    if sum(part.count for part in heads) < 2:
        raise Refused("match.heads", most=MOST_HEADS)
    random = Random(seed)  # noqa: S311 -- the same seed has to give the same sides
    longer = random.choice(tuple(Side))
    parts = []
    for part in heads:
        numbers = list(range(1, part.count + 1))
        random.shuffle(numbers)
        half = part.count // 2
        if part.count % 2:
            # The odd singer goes to the pages by turns, so that they stay equal as a whole.
            half += longer is Side.LEFT
            longer = longer.other
        parts.append(
            PartSplit(
                label=part.label,
                left=tuple(sorted(numbers[:half])),
                right=tuple(sorted(numbers[half:])),
            )
        )
    begins = random.choice(tuple(Side))
    sides = Sides(parts=tuple(parts), begins=begins, rows=1)
    return Sides(parts=sides.parts, begins=begins, rows=_rows(sides, rules))


def _rows(sides: Sides, rules: Rules) -> int:
    """As few rows as the larger side needs, so that both sides throw equally often."""
    largest = max(sides.size(side) for side in Side)
    return max(1, -(-largest // rules.row[1]))
