"""Turns of four tones in a row, by name: three moves, each by its kind.

Traits of one way on (traits.py) see the move before it. Tunes have turns of four tones that they
like and others that they shun: a repeat is answered by a repeat, two steps one way seldom by a
third one. A row of three pairs of equal tones is looked at beside them.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from types import MappingProxyType

KINDS = ("skip down", "step down", "repeat", "step up", "skip up")
_WIDE, _WIDEST = 2, 100  # scale steps: a third and all that is wider is a skip
# The place in KINDS of each move in scale steps, down negative.
KIND: Mapping[int, int] = MappingProxyType(
    {move: max(-_WIDE, min(move, _WIDE)) + _WIDE for move in range(-_WIDEST, _WIDEST + 1)}
)
# The kinds of two moves -> the name of the turn that each kind of a third one makes.
TURNS: Mapping[tuple[int, int], tuple[str, ...]] = MappingProxyType(
    {
        (first, second): tuple(f"{KINDS[first]}, {KINDS[second]}, {third}" for third in KINDS)
        for first in range(len(KINDS))
        for second in range(len(KINDS))
    }
)


def begun(past: Sequence[int]) -> tuple[int, int]:
    """The kinds of the last two moves of three steps or more."""
    return KIND[past[-2] - past[-3]], KIND[past[-1] - past[-2]]


def turns(past: Sequence[int], steps: Sequence[int]) -> Iterator[tuple[str, int]]:
    """The turn that each step would end, none where fewer than three came before."""
    if len(past) > 2:
        names = TURNS[begun(past)]
        yield from ((names[KIND[step - past[-1]]], step) for step in steps)
