"""The lines of a match: for each pair of turns two that ask equally much, and one for both sides.

Several lines are composed in one key and length, and the two that are least unlike become a pair:
in what they ask (`music/demand.py`) and in how much that is at their step (`music/load.py`), each
held against how far lines of this pool are apart at random. Of each pair that line goes to the side
that begins which keeps both sides equal turn by turn, so also where the bell ends a match early.
Slow enough for a thread; the same draws give the same lines.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from itertools import combinations
from statistics import median

from bot.activities.choir import Choir
from bot.activities.match_pairing import pair_up
from bot.activities.reading import Reading
from bot.errors import NoExercise
from bot.music.demand import demand, unlike
from bot.music.exercise import Exercise
from bot.music.load import load_of
from bot.service.composed import compose_reading
from bot.service.content import Content
from bot.service.makings import Said, say_nothing
from bot.service.part_tables import PartTables

SLOT = "match"
_TO_CHOOSE = 12  # lines more than the pairs need, at most: enough for good ones among them
_PLACES = 6  # of a load: what lies beyond them is the noise of adding up
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


@dataclass(frozen=True, slots=True, kw_only=True)
class _Chosen:
    pairs: Sequence[tuple[_Drawn, _Drawn]]
    rest: Sequence[_Drawn]


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
    wish, read = replace(choir, measures=measures), list(seen)
    pool: list[_Drawn] = []
    usual = 2 * pairs + min(_TO_CHOOSE, 2 * pairs + 4)
    chosen: _Chosen | None = None
    while chosen is None:
        if len(pool) >= _MOST:
            raise NoExercise("refusal.all-read", count=len(read))
        try:
            fresh = _compose(wish, content, on, first + len(pool), read, tables)
        except NoExercise:
            # A narrow step has no more: what is there may be enough.
            if (chosen := _choose(pool, pairs)) is None:
                raise
            break
        # Every line of a match has one key: it is given once.
        wish = replace(wish, key=fresh.reading.exercise.key.plain)
        pool.append(fresh)
        read.append(fresh.reading.exercise)
        said(min(len(pool), usual), usual)
        if len(pool) >= usual:
            chosen = _choose(pool, pairs)
    found = sorted(chosen.pairs, key=lambda pair: sum(pair[0].demand.values()))
    lines = [each.reading for pair in _evened(found) for each in pair]
    return (*lines, max(chosen.rest, key=lambda each: sum(each.demand.values())).reading)


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
    return _Drawn(
        reading=reading, demand=demand(line, sequence), load=round(load_of(line, sequence), _PLACES)
    )


def _choose(pool: Sequence[_Drawn], pairs: int) -> _Chosen | None:
    """The pairs that are least unlike, and what is left; None where there are not so many."""
    numbers = range(len(pool))
    alike = [pair for pair in combinations(numbers, 2) if pool[pair[0]].kind == pool[pair[1]].kind]
    apart = [
        (unlike(pool[one].demand, pool[two].demand), abs(pool[one].load - pool[two].load))
        for one, two in alike
    ]
    usual = [median(column) or 1.0 for column in zip(*apart, strict=True)]
    far = {
        frozenset(pair): sum(by / often for by, often in zip(row, usual, strict=True))
        for pair, row in zip(alike, apart, strict=True)
    }
    found = pair_up(far, len(pool), pairs)
    if found is None:
        return None
    return _Chosen(
        pairs=[(pool[one], pool[two]) for one, two in found.pairs],
        rest=[pool[number] for number in found.rest],
    )


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
