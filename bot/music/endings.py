"""How lines come to rest, by name: tones of the last notes of a phrase, and the moves onto them.

A phrase of four measures also rests, more lightly, at the end of its second.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from types import MappingProxyType

from bot.music.patterns import PHRASE
from bot.music.skeleton import Skeleton

_HALF, _LAST, _SECOND = "half", "last", "second measure"
_LEFT = {_HALF: (0, 1, 2), _LAST: (1, 2), _SECOND: (0, 1)}  # notes after it; the last is given
_WAYS = ("leap down", "third down", "step down", "repeat", "step up", "third up", "leap up")
_WIDE, _WIDEST = 3, 100  # scale steps: a fourth and all that is wider is a leap
_WAY = {move: max(-_WIDE, min(move, _WIDE)) + _WIDE for move in range(-_WIDEST, _WIDEST + 1)}

End = tuple[str, int]  # which end, and how many notes come after this one
_DEGREES: Mapping[End, tuple[str, ...]] = MappingProxyType(
    {
        (end, left): tuple(f"{left} before the {end}: degree {degree}" for degree in range(7))
        for end, lefts in _LEFT.items()
        for left in lefts
    }
)
_MOVES: Mapping[End, tuple[str, ...]] = MappingProxyType(
    {
        (end, left): tuple(f"{left} before the {end}: {way}" for way in _WAYS)
        for end, lefts in _LEFT.items()
        for left in lefts
    }
)
ENDINGS = tuple(name for rows in (_DEGREES, _MOVES) for row in rows.values() for name in row)


def end_traits(near: Sequence[End], last: int, steps: Sequence[int]) -> Iterator[tuple[str, int]]:
    """The traits of steps near some ends, after a last step."""
    for end in near:
        degrees, moves = _DEGREES[end], _MOVES[end]
        for step in steps:
            yield degrees[step % 7], step
            yield moves[_WAY[step - last]], step


class Endings:
    """Which notes of a rhythm are near an end; `near` has them by number, with the ends."""

    def __init__(self, skeleton: Skeleton) -> None:
        self.near: dict[int, tuple[End, ...]] = {}
        ends = skeleton.phrase_ends
        for begin, end in zip((0, *ends), ends, strict=False):
            self._note(_LAST if end == ends[-1] else _HALF, begin, end)
            measures = [spot.measure for spot in skeleton.spots[begin:end]]
            if measures[-1] - measures[0] == PHRASE - 1:
                second = sum(measure < measures[0] + PHRASE // 2 for measure in measures)
                self._note(_SECOND, begin, begin + second)

    def _note(self, kind: str, begin: int, end: int) -> None:
        for left in _LEFT[kind]:
            note = end - 1 - left
            if note >= begin:
                self.near[note] = (*self.near.get(note, ()), (kind, left))

    def traits(self, note: int, last: int, steps: Sequence[int]) -> Iterator[tuple[str, int]]:
        """The traits of steps as this note, after a last step."""
        return end_traits(self.near.get(note, ()), last, steps)
