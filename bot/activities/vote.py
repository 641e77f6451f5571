"""The end of a vote: who won, and how much of the count may be told.

A class that holds up its hands sees its own count. Ballots from seats are secret: with fewer than
ten only the outcome is kept, so that no count points at a few singers.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

COUNTS_FROM = 10  # ballots from which the counts are told
MARGIN_FROM = 5  # ballots from which it is told whether the outcome was clear
_CLOSE = 1  # ballots between first and second place that make it close


class Margin(StrEnum):
    """How far the first was ahead, where counts are not told."""

    CLEAR = "clear"
    CLOSE = "close"


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What is left of a vote. `winner` is a path's index, None where the director settles it.

    `counts` has one number a path, or is None where it may not be told; then `margin` says all that
    may be said, or nothing.
    """

    winner: int | None
    counts: tuple[int, ...] | None = None
    margin: Margin | None = None


def of_hands(counts: Sequence[int]) -> Outcome:
    """The outcome of hands that everybody saw: all of it.

    >>> of_hands([12, 9]).winner
    0
    >>> of_hands([9, 9]).winner is None
    True
    """
    return Outcome(winner=_first(counts), counts=tuple(counts))


def of_ballots(counts: Sequence[int], quorum: int) -> Outcome:
    """The outcome of secret ballots; nobody wins with fewer ballots than the quorum.

    >>> of_ballots([7, 4], 1)
    Outcome(winner=0, counts=(7, 4), margin=None)
    >>> of_ballots([4, 3], 1)
    Outcome(winner=0, counts=None, margin=<Margin.CLOSE: 'close'>)
    >>> of_ballots([2, 1], 1)
    Outcome(winner=0, counts=None, margin=None)
    """
    total = sum(counts)
    winner = _first(counts) if total >= quorum else None
    if total >= COUNTS_FROM:
        return Outcome(winner=winner, counts=tuple(counts))
    if total < MARGIN_FROM or winner is None:
        return Outcome(winner=winner)
    first, second = sorted(counts, reverse=True)[:2]
    return Outcome(winner=winner, margin=Margin.CLOSE if first - second <= _CLOSE else Margin.CLEAR)


def _first(counts: Sequence[int]) -> int | None:
    """The path with the most hands; None for a tie and where no hand is up."""
    most = max(counts)
    ahead = [path for path, count in enumerate(counts) if count == most]
    return ahead[0] if most and len(ahead) == 1 else None
