"""Pairs out of a handful of things, each pair as near to equal as the handful allows. Pure.

The nearest two are taken first; then partners are changed as long as that makes the pairs more
equal, the worst of them counting most. Not always the best of all ways, but never one that a single
change of partners would better; the same distances give the same pairs.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

_LEAST_GAIN = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class Paired:
    """Pairs of numbers, and the numbers that are left over."""

    pairs: tuple[tuple[int, int], ...]
    rest: tuple[int, ...]


def pair_up(far: Mapping[frozenset[int], float], count: int, pairs: int) -> Paired | None:
    """So many pairs out of the numbers 0 to `count` - 1, and at least one left over.

    `far` says how unlike two of them are; what it leaves out is no pair. None where there are not
    so many pairs.
    """
    best = _nearest_first(far, count, pairs)
    if best is None or not best.rest:
        return None
    while better := next(_bettered(far, best), None):
        best = better
    return best


def _nearest_first(far: Mapping[frozenset[int], float], count: int, pairs: int) -> Paired | None:
    rest, found = set(range(count)), list[tuple[int, int]]()
    for both in sorted(far, key=lambda both: (far[both], sorted(both))):
        if len(found) < pairs and both <= rest:
            one, two = sorted(both)
            found.append((one, two))
            rest -= both
    return Paired(pairs=tuple(found), rest=tuple(sorted(rest))) if len(found) == pairs else None


def _bettered(far: Mapping[frozenset[int], float], old: Paired) -> Iterator[Paired]:
    """Every change of partners that makes the pairs more equal."""
    for at, (one, two) in enumerate(old.pairs):
        others = old.pairs[:at] + old.pairs[at + 1 :]
        for stays, goes in ((one, two), (two, one)):
            for comes in old.rest:
                if _gains(far, [(one, two)], [(stays, comes)]):
                    rest = tuple(sorted({*old.rest, goes} - {comes}))
                    yield Paired(pairs=(*others, (stays, comes)), rest=rest)
        for number, (three, four) in enumerate(others):
            kept = others[:number] + others[number + 1 :]
            for new in ([(one, three), (two, four)], [(one, four), (two, three)]):
                if _gains(far, [(one, two), (three, four)], new):
                    yield Paired(pairs=(*kept, *new), rest=old.rest)


def _gains(
    far: Mapping[frozenset[int], float], old: list[tuple[int, int]], new: list[tuple[int, int]]
) -> bool:
    """Whether all new pairs are pairs, and nearer to equal than the old."""
    if not all(frozenset(pair) in far for pair in new):
        return False
    before, after = (sum(far[frozenset(pair)] ** 2 for pair in each) for each in (old, new))
    return after < before - _LEAST_GAIN
