"""Two sides of a match drawn by part, from heads alone; who stands where is counted off.

Nobody is named, and no seat has a part. Each row of a part counts off from 1 as it stands, and the
draw says which numbers go to the left page; the same draw is made again from its seed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from random import Random

from bot.activities.match_rules import Rules, Side, Stand
from bot.errors import Refused

MOST_HEADS = 120  # of one part
MOST_ROWS = 12  # in which one part stands


@dataclass(frozen=True, slots=True, kw_only=True)
class Heads:
    """How many singers a part has today; `label` is what the class calls it.

    `rows` are the singers of each row in which it stands; none are given where it is one.
    """

    label: str
    count: int
    rows: tuple[int, ...] = ()

    @classmethod
    def in_rows(cls, label: str, rows: Sequence[int]) -> Heads:
        """A part by its rows; a single one is none."""
        return cls(label=label, count=sum(rows), rows=tuple(rows) if len(rows) > 1 else ())

    @property
    def standing(self) -> tuple[int, ...]:
        """The singers of every row."""
        return self.rows or (self.count,)


@dataclass(frozen=True, slots=True, kw_only=True)
class PartSplit:
    """The numbers of one part, or one row of it, on each page, counted off from 1.

    `row` counts the part's rows from 1; 0 where the part stands in one.
    """

    label: str
    left: tuple[int, ...]
    right: tuple[int, ...]
    row: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Sides:
    """The draw of one match: its parts, who begins, and how many groups each side has.

    The sides differ by one singer at most, in every row, in every part and in all, and have equally
    many groups.
    """

    parts: tuple[PartSplit, ...]
    begins: Side
    groups: int

    def size(self, side: Side) -> int:
        """Singers of a side."""
        return sum(len(part.left if side is Side.LEFT else part.right) for part in self.parts)

    def group_sizes(self, side: Side) -> tuple[int, ...]:
        """Singers of each group of a side, as even as can be, the larger ones first."""
        each, more = divmod(self.size(side), self.groups)
        return tuple(each + (group < more) for group in range(self.groups))


def draw_sides(heads: Sequence[Heads], rules: Rules, seed: int) -> Sides:
    """Draw fresh sides; Refused("match.heads") where there are too few or too many to be two."""
    rows = [(part, number, count) for part in heads for number, count in enumerate(part.standing)]
    well = all(count >= 0 for _, _, count in rows)
    well = well and all(
        part.count <= MOST_HEADS and len(part.standing) <= MOST_ROWS for part in heads
    )
    if not well or sum(part.count for part in heads) < 2:
        raise Refused("match.heads", most=MOST_HEADS, rows=MOST_ROWS)
    random = Random(seed)  # noqa: S311 -- the same seed has to give the same sides
    longer = random.choice(tuple(Side))
    parts = []
    for part, number, count in rows:
        half = count // 2
        if count % 2:
            # The odd singer goes to the pages by turns, so that they stay equal in any run of rows,
            # which every part is, and as a whole.
            half += longer is Side.LEFT
            longer = longer.other
        left, right = _cut(count, half, rules.stand, random)
        row = number + 1 if part.rows else 0
        parts.append(PartSplit(label=part.label, left=left, right=right, row=row))
    begins = random.choice(tuple(Side))
    sides = Sides(parts=tuple(parts), begins=begins, groups=1)
    return Sides(parts=sides.parts, begins=begins, groups=_groups(sides, rules))


def _cut(
    count: int, half: int, stand: Stand, random: Random
) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """The numbers 1 to `count` on each page, `half` of them on the left one."""
    numbers = list(range(1, count + 1))
    match stand:
        case Stand.COUNTED:
            random.shuffle(numbers)
        case Stand.TOGETHER:
            # A stretch that begins anywhere and goes on round the end: one side is unbroken.
            begin = random.randrange(count) if count else 0
            numbers = numbers[begin:] + numbers[:begin]
    return tuple(sorted(numbers[:half])), tuple(sorted(numbers[half:]))


def _groups(sides: Sides, rules: Rules) -> int:
    """As few groups as the larger side needs, so that both sides throw equally often."""
    largest = max(sides.size(side) for side in Side)
    return max(1, -(-largest // rules.group[1]))
