"""How welcome each move of several parts at once is: which voices sound, what rules them.

A move of a part goes from its tone before to a tone. The table over all moves of all parts has a
factor for the motion of the voices and the sound that they reach, 0 where a rule of voice-leading
forbids it, and says what becomes of a chain of parallel thirds or sixths.
"""

from __future__ import annotations

from collections.abc import Sequence
from enum import IntEnum
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from bot.music import voice_leading as rules
from bot.music.exercise import Tone
from bot.music.slices import Slice, Stroke
from bot.music.voice_leading import Floats, Manner, Mask

Places = NDArray[np.int64]
_DEGREES = 7
_TI = 6


class Singer(NamedTuple):
    """A voice that sounds: the side whose line it sings, and the height of each of its tones."""

    side: int
    heights: tuple[int, ...]


class Chain(IntEnum):
    """What a move makes of a chain of parallel thirds or sixths."""

    BROKEN = 0
    LONGER = 1
    KEPT = 2  # nobody moved


class Kind(NamedTuple):
    """What rules the moves into a slice."""

    strokes: tuple[Stroke, ...]
    before: tuple[bool, ...]  # which parts sounded in the slice before
    now: tuple[bool, ...]
    strong: bool
    free: bool  # perfect intervals are welcome: where voices begin, end, or one of them waits


class Moved(NamedTuple):
    """The moves that a part can make: from tone `last` to `tone`, as places in its list."""

    last: Places
    tone: Places


def kind_of(slice_: Slice, before: Slice | None) -> Kind:
    """What rules the moves into a slice."""
    waits = not all(slice_.sounding)
    return Kind(
        strokes=slice_.strokes,
        before=before.sounding if before else (False,) * len(slice_.strokes),
        now=slice_.sounding,
        strong=slice_.strong or slice_.closes or slice_.opens,
        free=slice_.opens or slice_.closes or waits,
    )


def factors(
    kind: Kind,
    tones: Sequence[Sequence[Tone]],
    moves: Sequence[Moved],
    castings: Sequence[Sequence[Singer]],
    manner: Manner,
) -> tuple[Floats, Places]:
    """Factors over [move of the first part, of the second, ...], and the `Chain` of each.

    `tones` has those of each part. With several castings the same tones go with each of them.
    """
    table, chain = _Table(kind, tones, moves, castings[0], manner).lay_out()
    for casting in castings[1:]:
        table = table * _Table(kind, tones, moves, casting, manner).lay_out()[0]
    return table, chain


class _Table:
    """Factors where a casting sings the parts."""

    def __init__(
        self,
        kind: Kind,
        tones: Sequence[Sequence[Tone]],
        moves: Sequence[Moved],
        singers: Sequence[Singer],
        manner: Manner,
    ) -> None:
        self._kind, self._tones, self._moves, self._manner = kind, tones, moves, manner
        self._before, self._after = [], []
        for side, sung in singers:
            heights, (last, tone) = np.array(sung), moves[side]
            self._before.append(self._on_axis(heights[last], side))
            self._after.append(self._on_axis(heights[tone], side))
        self._numbers = [singer.side for singer in singers]

    def _on_axis(self, row: NDArray[np.int64], axis: int) -> NDArray[np.int64]:
        shape = [1] * len(self._moves)
        shape[axis] = len(row)
        return row.reshape(shape)

    def _heard(self, sounding: Sequence[bool]) -> list[int]:
        return [place for place, side in enumerate(self._numbers) if sounding[side]]

    def lay_out(self) -> tuple[Floats, Places]:
        """The factors, and what becomes of a chain of parallel thirds or sixths."""
        kind, manner = self._kind, self._manner
        shape = tuple(len(moved.tone) for moved in self._moves)
        now = self._heard(kind.now)
        after, sides = [self._after[p] for p in now], [self._numbers[p] for p in now]
        good = rules.consonant(after, sides, manner)
        if manner.full and kind.strong:
            good = good & self._full(after, sides, closes=kind.free)
        weight = np.where(good, 1.0 if kind.free else rules.welcome(after, sides), 0.0)
        weight = weight * rules.kept_apart(after, sides, manner)
        chain: Places = np.array(Chain.BROKEN)
        both = self._heard([a and b for a, b in zip(kind.before, kind.now, strict=True)])
        if both and Stroke.BEGIN not in kind.strokes:
            was, then = [self._before[p] for p in both], [self._after[p] for p in both]
            held = [self._numbers[p] for p in both]
            weight = self._moved(weight, good, was, then, held)
            weight = np.where(self._left_well(held, was, then), weight, 0.0)
            chain = np.where(rules.chained(was, then, held), Chain.LONGER, Chain.BROKEN)
            chain = np.where(rules.still(was, then), Chain.KEPT, chain)
        return np.ascontiguousarray(np.broadcast_to(weight, shape)), np.broadcast_to(chain, shape)

    def _moved(
        self, weight: Floats, good: Mask, was: rules.Heights, then: rules.Heights, held: list[int]
    ) -> Floats:
        kind, manner = self._kind, self._manner
        seam = Stroke.SEAM in kind.strokes
        if not kind.strong and not seam and len(set(held)) > 1:
            may_pass = rules.passing(was, then, held) & rules.ordered(then, held, manner)
            weight = np.where(~good & may_pass, rules.passing_weight(), weight)
        return weight * rules.motion(was, then, held, manner)

    def _left_well(self, held: list[int], was: rules.Heights, then: rules.Heights) -> Mask:
        """Whether what sounded before was consonant, or is left by step by those who sing on."""
        before = self._heard(self._kind.before)
        sounded, sides = [self._before[p] for p in before], [self._numbers[p] for p in before]
        return rules.consonant(sounded, sides, self._manner) | rules.stepwise(was, then, held)

    def _full(self, after: rules.Heights, sides: Sequence[int], *, closes: bool) -> Mask:
        """Whether root and third of one triad are there, its fifth beside them, and one ti.

        Where voices close a bare unison or octave of all will do too.
        """
        if len(set(sides)) < 3:
            return np.array(True)
        degrees = []
        for number in dict.fromkeys(sides):
            steps = np.array([tone.step % _DEGREES for tone in self._tones[number]])
            degrees.append(self._on_axis(steps[self._moves[number].tone], number))
        found: Mask = np.array(False)
        for root in range(_TI):
            triad = [root, (root + 2) % _DEGREES, (root + 4) % _DEGREES]
            inside: Mask = np.array(True)
            for row in degrees:
                inside = inside & np.isin(row, triad)
            for needed in triad[:2]:
                some: Mask = np.array(False)
                for row in degrees:
                    some = some | (row == needed)
                inside = inside & some
            found = found | inside
        leading = sum(((row == _TI).astype(np.int64) for row in degrees), np.array(0))
        found = found & (leading <= 1)
        if closes:
            alike: Mask = np.array(True)
            for row in degrees[1:]:
                alike = alike & (row == degrees[0]) & (row != _TI)
            found = found | alike
        return found
