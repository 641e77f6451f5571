"""Which tone may follow which: the rules of a singable line as a finite table.

A line remembers little: its last tone and the different one before it, how often the last was
repeated, where it last turned (only while a tritone might still be outlined from there), and
whether it is in the middle of two skips one way. A phrase starts with a clean memory, so these
rules look at one phrase at a time. They are textbook rules for a singable line:

* neighbouring tones may follow each other, but a raised tone goes on upwards and a lowered one
  downwards; other moves are the skips that the level has;
* a tone comes at most `equal_notes` times in a row;
* after a leap of a fourth or more the line turns back, unless it completes a triad within a sixth
  or rises a step from a tonic that was reached from the fifth below;
* two skips one way spell a triad within a sixth, and a third one turns;
* turning points are never an augmented fourth apart; a diminished fifth is left inwards by step.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from bot.music.exercise import Tone
from bot.music.habits import Place
from bot.music.leading import by_step, height
from bot.music.level import PitchFocus
from bot.music.sequence import Skip

_THIRD, _FOURTH, _SIXTH = 2, 3, 5  # in scale steps
_TRITONE = 6  # in semitones
_DEGREES, _FIFTH, _TI = 7, 4, 6


class Memory(NamedTuple):
    """What a phrase remembers; tones are places in the table's list, -1 for none."""

    last: int
    before: int = -1
    equal: int = 1
    turned: int = -1
    skipping: bool = False
    stepped: bool = False  # reached its turning point by step; minded where lines go both ways


class Opening(NamedTuple):
    """A way to begin lines: the context of each tone to begin on, -1 for none.

    `mark` tells apart lines that begin alike in different ways, None where there is one way.
    """

    mark: int | None
    fresh: list[int]


class Round(NamedTuple):
    """A way round a copy: for each context where the copied notes end, where lines go on.

    From `between` before the copy comes, from `tail` after it.
    """

    between: NDArray[np.int64]
    tail: NDArray[np.int64]


class Moves:
    """The table of one level within one range of tones.

    `tones` are in rising order, `tonic` is in scale steps above do; contexts are numbered, and
    `ways[m]` are the ways on from context m: next context, tone, whether it is a hit. For the k-th
    way on from context m, `to[k, m]` is the next context, `tone[k, m]` the tone, `legal[k, m]`
    whether the way exists and `hit[k, m]` whether it is the newest element, `hit_back[k, m]`
    whether it is that from the last note to the first. Shapes: (most ways on, contexts).

    Contexts lie in blocks, here in one: `fresh` says where a phrase begins after a context of each
    block, for each tone. `done` are the contexts in which a line may end, `copies` those in which
    notes may end that are copied.
    """

    def __init__(
        self,
        tones: tuple[Tone, ...],
        skips: Iterable[Skip],
        equal_notes: int,
        focus: PitchFocus | None,
        *,
        tonic: int = 0,
        free_leaps: bool = False,
        both_ways: bool = False,
    ) -> None:
        self._free_leaps, self._both_ways = free_leaps, both_ways
        self.tones, self.tonic = tones, tonic
        self._steps = [tone.step for tone in tones]
        self._heights = [height(tone) for tone in tones]
        self._equal_notes = equal_notes
        number = {tone: place for place, tone in enumerate(tones)}
        pairs = {(number[a], number[b]) for a, b in skips if a in number and b in number}
        size = range(len(tones))
        self.linked = [
            [self._near(a, b) or (min(a, b), max(a, b)) in pairs for b in size] for a in size
        ]
        focus_tones = {number[t] for t in focus.tones if t in number} if focus else set()
        focus_skips = {
            (number[a], number[b])
            for a, b in (focus.skips if focus else ())
            if a in number and b in number
        }
        self.arrives = [
            [a != b and (b in focus_tones or (min(a, b), max(a, b)) in focus_skips) for b in size]
            for a in size
        ]
        self.first_hit = [place in focus_tones for place in size]
        self.memories: list[Memory] = []
        self._tabulate()

    def _near(self, a: int, b: int) -> bool:
        here, there = self.tones[a], self.tones[b]
        return by_step(here, there) and (not self._both_ways or by_step(there, here))

    def _tabulate(self) -> None:
        """Number every memory that can be reached and lay out the ways on from each."""
        index = {Memory(last=place): place for place in range(len(self.tones))}
        self.memories = list(index)
        ways: list[list[tuple[int, int]]] = []
        for memory in self.memories:  # grows while it is walked
            row = []
            for tone in range(len(self.tones)):
                after = self.follow(memory, tone)
                if after is not None:
                    if after not in index:
                        index[after] = len(self.memories)
                        self.memories.append(after)
                    row.append((index[after], tone))
            ways.append(row)
        self.ways = [
            [(to, tone, self.arrives[memory.last][tone]) for to, tone in row]
            for memory, row in zip(self.memories, ways, strict=True)
        ]
        shape = (max(map(len, ways)), len(ways))
        self.to: NDArray[np.int64] = np.zeros(shape, dtype=np.int64)
        self.tone: NDArray[np.int64] = np.zeros(shape, dtype=np.int64)
        self.legal: NDArray[np.bool_] = np.zeros(shape, dtype=np.bool_)
        self.hit: NDArray[np.int64] = np.zeros(shape, dtype=np.int64)
        self.hit_back: NDArray[np.int64] = np.zeros(shape, dtype=np.int64)
        for m, row in enumerate(ways):
            last = self.memories[m].last
            for k, (context, tone) in enumerate(row):
                self.to[k, m], self.tone[k, m], self.legal[k, m] = context, tone, True
                self.hit[k, m] = self.arrives[last][tone]
                self.hit_back[k, m] = self.arrives[tone][last]
        self.last: NDArray[np.int64] = np.array([memory.last for memory in self.memories])
        # A phrase does not end a tritone from where it last turned.
        self.rests = np.array([self._may_rest(memory) for memory in self.memories])
        every, tones = np.arange(len(ways)), np.arange(len(self.tones))
        self.fresh: NDArray[np.int64] = tones[None]
        self.block: NDArray[np.int64] = np.zeros_like(every)
        self.done: NDArray[np.bool_] = every >= 0
        self.copies, self.rounds = self.done, (Round(between=every, tail=every),)
        self.openings = [Opening(mark=None, fresh=tones.tolist())]

    def lifted(self, weights: NDArray[np.float64], place: Place) -> NDArray[np.float64]:
        """The weights of ways on at a place, as they are."""
        del place
        return weights

    def mark(self, line: Sequence[int]) -> int | None:
        """What tells apart the beginnings of lines that begin alike: nothing."""
        del line
        return None

    def round_of(self, line: Sequence[int], between: Sequence[int]) -> int:
        """The number of the way round a copy that a line takes with these tones before it."""
        del line, between
        return 0

    def follow(self, memory: Memory, to: int) -> Memory | None:
        """The memory after one more tone of the phrase, None where a rule forbids it."""
        last = memory.last
        if to == last:
            again = memory.equal + 1
            return memory._replace(equal=again) if again <= self._equal_notes else None
        if not self.linked[last][to]:
            return None
        turned, skipping, stepped = last, False, False
        if memory.before >= 0:
            size = abs(self._steps[to] - self._steps[last])
            was = abs(self._steps[last] - self._steps[memory.before])
            if (to > last) == (last > memory.before):
                if not self._free_leaps and not self._may_go_on(memory, to, size):
                    return None
                if self._both_ways and not self._may_come_back(memory, to, was):
                    return None
                turned, skipping = memory.turned, was >= _THIRD and size >= _THIRD
                stepped = memory.stepped
            elif not self._may_turn(memory, size):
                return None
            else:
                stepped = self._both_ways and was == 1
        watched = self._watched(turned, to)
        return Memory(
            last=to,
            before=last,
            turned=watched,
            skipping=skipping,
            stepped=stepped and watched >= 0,
        )

    def _may_come_back(self, memory: Memory, to: int, was: int) -> bool:
        """Whether a line that goes on one way may do so from the last note to the first too."""
        back = Memory(last=memory.last, before=to)
        return self._free_leaps or self._may_go_on(back, memory.before, was)

    def _may_go_on(self, memory: Memory, to: int, size: int) -> bool:
        steps = self._steps
        was = abs(steps[memory.last] - steps[memory.before])
        if was < _THIRD or (was < _FOURTH and size < _THIRD):
            return True
        if size >= _THIRD:
            line = (memory.before, memory.last, to)
            return not memory.skipping and was + size <= _SIXTH and self._triad(line)
        return (
            to > memory.last
            and was == _FOURTH
            and (steps[memory.last] - self.tonic) % _DEGREES == 0
            and (steps[memory.before] - self.tonic) % _DEGREES == _FIFTH
        )

    def _triad(self, places: tuple[int, ...]) -> bool:
        """Whether three tones are root, third and fifth of one triad, that on ti left out."""
        degrees = {self._steps[place] % 7 for place in places}
        return any(degrees == {root, (root + 2) % 7, (root + 4) % 7} for root in range(_TI))

    def _may_turn(self, memory: Memory, size: int) -> bool:
        turned, last = memory.turned, memory.last
        if turned < 0 or abs(self._heights[last] - self._heights[turned]) != _TRITONE:
            return True
        if self._both_ways and not memory.stepped:
            return False
        return abs(self._steps[last] - self._steps[turned]) != _FOURTH and size == 1

    def _may_rest(self, memory: Memory) -> bool:
        turned = memory.turned
        return turned < 0 or abs(self._heights[memory.last] - self._heights[turned]) != _TRITONE

    def _watched(self, turned: int, to: int) -> int:
        """The last turning point, if a tritone from it lies at `to` or further on that way."""
        if turned < 0:
            return -1
        beyond = range(to, len(self.tones)) if to > turned else range(to + 1)
        start = self._heights[turned]
        return turned if any(abs(self._heights[p] - start) == _TRITONE for p in beyond) else -1
