"""The lines of a match: for each pair of turns two that ask equally much, and one for both sides.

Several lines are composed in one key and length, and the two that are least unlike become a pair:
in what they ask (`music/demand.py`) and in how much that is at their step (`music/load.py`), each
held against how far lines of this pool are apart at random. Of each pair that line goes to the side
that begins which keeps both sides equal turn by turn, so also where the bell ends a match early.
Slow enough for a thread; the same draws give the same lines.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from itertools import combinations
from statistics import median

from bot.activities.choir import Choir
from bot.activities.reading import Reading
from bot.errors import NoExercise
from bot.music.demand import demand, unlike
from bot.music.exercise import Exercise
from bot.music.load import load_of
from bot.service.composing import compose_reading
from bot.service.content import Content
from bot.service.makings import Said, say_nothing
from bot.service.part_tables import PartTables

SLOT = "match"
_AT_ONCE = 16  # lines among which a pair is looked for
_MOST = 80  # lines that are composed before a step is given up as too narrow


@dataclass(frozen=True, slots=True, kw_only=True)
class _Drawn:
    reading: Reading
    demand: Mapping[str, float]
    load: float

    @property
    def kind(self) -> tuple[object, ...]:
        """What has to be the same in both lines of a pair."""
        line = self.reading.exercise
        return (line.metre, line.measures, line.key, len(line.parts))


def draw_lines(
    choir: Choir,
    content: Content,
    on: date,
    first: int,
    seen: Sequence[Exercise],
    *,
    pairs: int,
    measures: int,
    said: Said = say_nothing,
    tables: PartTables | None = None,
) -> tuple[Reading, ...]:
    """Readings for `pairs` turns of each side and a joint one, none of them read before.

    `first` is the number of the first draw, `said` hears how many lines are there; `tables`
    are those of parts. The pairs come from the easiest to the hardest. Raises NoExercise like the
    composer, or where a step has too few lines.
    """
    wish = replace(choir, measures=measures)
    pool: list[_Drawn] = []
    found: list[tuple[_Drawn, _Drawn]] = []
    draw, usual = first, _AT_ONCE + 2 * (pairs - 1)
    read = list(seen)
    while len(found) < pairs or not pool:
        wanted = _AT_ONCE - len(pool) if len(found) < pairs else 1
        for _ in range(max(wanted, 2 if len(found) < pairs else 1)):
            if draw - first >= _MOST:
                raise NoExercise("refusal.all-read", count=len(read))
            fresh = _compose(wish, content, on, draw, read, tables)
            # Every line of a match has one key: it is given once.
            wish = replace(wish, key=fresh.reading.exercise.key.plain)
            pool.append(fresh)
            read.append(fresh.reading.exercise)
            draw += 1
            said(min(draw - first, usual), usual)
        if len(found) < pairs and (pair := _most_alike(pool)):
            found.append(pair)
            pool = [each for each in pool if each not in pair]
    found.sort(key=lambda pair: sum(pair[0].demand.values()))
    lines = [each.reading for pair in _evened(found) for each in pair]
    return (*lines, max(pool, key=lambda each: sum(each.demand.values())).reading)


def _compose(
    choir: Choir,
    content: Content,
    on: date,
    draw: int,
    seen: Sequence[Exercise],
    tables: PartTables | None,
) -> _Drawn:
    reading = compose_reading(choir, content, on, draw, tuple(seen), SLOT, tables=tables)
    sequence = content.sequences[choir.steps.sequence]
    line = reading.exercise
    return _Drawn(reading=reading, demand=demand(line, sequence), load=load_of(line, sequence))


def _most_alike(pool: Sequence[_Drawn]) -> tuple[_Drawn, _Drawn] | None:
    """The two lines of one metre that are least unlike; None where no two have one."""
    kinds: defaultdict[tuple[object, ...], list[_Drawn]] = defaultdict(list)
    for each in pool:
        kinds[each.kind].append(each)
    pairs = [pair for alike in kinds.values() for pair in combinations(alike, 2)]
    if not pairs:
        return None
    apart = [(unlike(one.demand, two.demand), abs(one.load - two.load)) for one, two in pairs]
    usual = [median(found) or 1.0 for found in zip(*apart, strict=True)]
    sums = [sum(far / often for far, often in zip(found, usual, strict=True)) for found in apart]
    return pairs[sums.index(min(sums))]


def _evened(pairs: Sequence[tuple[_Drawn, _Drawn]]) -> list[tuple[_Drawn, _Drawn]]:
    """The pairs, each with that line first by which both sides have read nearly the same so far."""
    ahead, turned = 0.0, []
    for one, two in pairs:
        more = one.load - two.load
        if abs(ahead - more) < abs(ahead + more):
            one, two, more = two, one, -more
        ahead += more
        turned.append((one, two))
    return turned
