"""One high point: the table of moves for lines whose top tone is sung just once.

A line chooses its top before its first note and keeps below it, but for the one note on which it
gets there; so lines with different tops are different lines, and sums over them stay exact.
Contexts are those of the plain table twice for each top: before it was sung, and from there on. The
note is neither the first of the line nor the last, and it is struck once (tied over, it is one).
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from bot.music.exercise import Tone
from bot.music.habits import Place, lies_of
from bot.music.moves import Moves, Opening, Round
from bot.music.sequence import Conditions, Interval

_LATE = 2.0  # how much rather the high point lies in the second half, the last measure left out
_MEASURES = {0: (2,), 1: (), 2: (0, 1, 2)}  # these, by the phrase as `Place` counts it
_RANGE = 2  # how many tones are tops of high lines, and of middling ones

Floats = NDArray[np.float64]
Places = NDArray[np.int64]


def rests(conditions: Conditions, tones: Sequence[Tone]) -> bool:
    """Whether lines of these tones need have no high point, since none is high enough for one."""
    return conditions.peak is not None and not tops_of(tones, conditions.end, conditions.peak)


def tops_of(
    tones: Sequence[Tone], end: Tone, peak: Interval | None = None
) -> dict[int, tuple[int, ...]]:
    """The tones, as places in the list, that lines have for their top, by how they lie.

    All are above the `end`, by the `peak` at least where there is one; a lie that leaves none is
    left out. Where lines may lie lower and higher, the two highest tones are the tops of high ones,
    the next two those of middling ones, and the rest those of low ones.
    """
    least = end.step + (peak.steps if peak else 0)
    tops = [n for n, tone in enumerate(tones) if end in tones[:n] and tone.step >= least]
    lies = lies_of(tones)
    ranges = {1: tops[-_RANGE:], 0: tops[-2 * _RANGE : -_RANGE], -1: tops[: -2 * _RANGE]}
    found = ranges if len(lies) > 1 else {0: tops}
    return {lie: tuple(found[lie]) for lie in lies if found[lie]}


class OneTop:
    """The table of lines with one of some tops, read as `Moves` are; `plain` is the table of moves.

    A way on that would pass the top, or come to it again, is not legal. `plain_of` is the number of
    each context in the plain table, and ways on keep their rows.
    """

    def __init__(self, plain: Moves, tops: Sequence[int]) -> None:
        self.plain = plain
        self.tones, self.tonic = plain.tones, plain.tonic
        self.linked, self.arrives, self.first_hit = plain.linked, plain.arrives, plain.first_hit
        self._tops = tuple(tops)
        self._lay_out()
        at = self.plain_of
        self.memories = [plain.memories[context] for context in at.tolist()]
        self.tone, self.hit, self.hit_back = (
            rows[:, at] for rows in (plain.tone, plain.hit, plain.hit_back)
        )
        self.last, self.rests = plain.last[at], plain.rests[at]
        self.ways = [
            list(zip(*columns, strict=True))
            for columns in zip(
                self.to.T.tolist(), self.tone.T.tolist(), self.hit.T.tolist(), strict=True
            )
        ]
        self.onto_top: NDArray[np.bool_] = self.legal & (self.tone == self.top)

    def _lay_out(self) -> None:
        """Number the contexts, two blocks for each top, and lead the ways on to them."""
        plain = self.plain
        highest = np.array([max(m.last, m.before, m.turned) for m in plain.memories])
        again = np.array([m.equal > 1 for m in plain.memories])
        below: list[Places] = []
        for top in self._tops:
            twice = again & (plain.last == top)
            below += [np.flatnonzero(highest < top), np.flatnonzero((highest <= top) & ~twice)]
        sizes = [len(each) for each in below]
        numbers = np.full((len(below), len(plain.memories)), -1)
        first = 0
        for block, each in enumerate(below):
            numbers[block, each] = first + np.arange(len(each))
            first += len(each)
        self.plain_of: Places = np.concatenate(below)
        self.block: Places = np.repeat(np.arange(len(below)), sizes)
        self.top: Places = np.repeat(np.array(self._tops), 2)[self.block]
        self.done: NDArray[np.bool_] = self.block % 2 == 1
        to, tone = plain.to[:, self.plain_of], plain.tone[:, self.plain_of]
        arrives = ~self.done & (tone == self.top)
        self.legal: NDArray[np.bool_] = plain.legal[:, self.plain_of] & (
            (tone < self.top) | arrives
        )
        self.to: Places = np.where(self.legal, numbers[self.block + arrives, to], 0)
        self._phrases(numbers)

    def _phrases(self, numbers: Places) -> None:
        """Where a phrase begins after a context of each block, and where the line does."""
        tones, blocks = np.arange(len(self.tones)), np.arange(2 * len(self._tops))
        tops = np.repeat(np.array(self._tops), 2)[:, None]
        arrives = (blocks[:, None] % 2 == 0) & (tones == tops)
        begins = numbers[blocks[:, None] + arrives, tones]
        self.fresh: Places = np.where((tones < tops) | arrives, begins, -1)
        self.openings = [
            Opening(mark=top, fresh=np.where(tones < top, self.fresh[2 * number], -1).tolist())
            for number, top in enumerate(self._tops)
        ]
        every = np.arange(len(self.plain_of))
        twin = np.where(self.done, every, numbers[self.block | 1, self.plain_of])
        # Around the copy of what the line begins with: the top comes before it, or after it.
        self.rounds = (Round(between=every, tail=twin), Round(between=twin, tail=every))
        self.copies: NDArray[np.bool_] = ~self.done

    def lifted(self, weights: Floats, place: Place) -> Floats:
        """The weights of the plain table's ways on at a place as those of this one's."""
        late = place.measure in _MEASURES[place.phrase]
        here: Floats = np.where(self.legal, weights[:, self.plain_of], 0.0)
        return np.where(self.onto_top, here * _LATE, here) if late else here

    def mark(self, line: Sequence[int]) -> int | None:
        """What tells apart the beginnings of lines that begin alike: the top."""
        return max(line)

    def round_of(self, line: Sequence[int], between: Sequence[int]) -> int:
        """The number of the way round a copy that a line takes with these tones before it."""
        return 0 if max(line) in between else 1


Table = Moves | OneTop
