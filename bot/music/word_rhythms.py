"""All rhythms that words can be sung to, weighed exactly; of these, those that bend them least.

A rhythm is chosen measure by measure; its state is how many syllables are sung, how strong a place
the last one had, and what is still needed. For each state the least that stress has to be bent from
there on is known, and the weight of all ways that bend it no more: so a draw has the exact law of
the rhythms that do best, and none that does worse ever comes.

Where measures of the second half share a rhythm with the first half, both halves are walked side by
side; where the second half begins in the text is then chosen first.
"""

from __future__ import annotations

from collections.abc import Sequence
from random import Random
from typing import NamedTuple

from bot.music.patterns import Pattern
from bot.music.rhythms import Candidate, Path, Rhythms, Sum, Taken, pick
from bot.music.word_fit import Last, WordFit
from bot.music.word_moves import Begins, Move, WordMoves

_WANTED = 3  # how much more often a rhythm comes for each new cell that it has, up to what is usual


class _Walk(NamedTuple):
    """Where each half stands: syllables sung, strength of the last note; what was met so far."""

    first: int
    first_last: Last
    second: int
    second_last: Last
    newest: int = 0
    colours: int = 0


class _Behind(NamedTuple):
    """What can follow: its least bending of stress, and the weight of all ways that bend it so."""

    bent: int
    mass: int


MOST_BENT = 1 << 40  # more often than any words are
_NOTHING = _Behind(MOST_BENT, 0)


class WordRhythms(Rhythms):
    """The rhythms of one form for words.

    `choices` are what measures do, in the order in which they are chosen; before the first of them
    it is chosen where the second half begins (`seams`: syllables before it). `half` counts the
    measures before it. Only those that bend stress `limit` times at most count, if there are any:
    what bends it more often is then left out of the sums.
    """

    def __init__(
        self,
        choices: Sequence[WordMoves],
        seams: Sequence[int],
        fit: WordFit,
        most: Sum,
        half: int,
        limit: int = MOST_BENT,
    ) -> None:
        none = Candidate(Pattern(cells=(), struck=(), notes=0, uniform=False), 1, Sum())
        self.letters = [[none] * len(seams), *(each.candidates for each in choices)]
        self._choices, self._seams = choices, seams
        self._limit = limit
        self._most, self._half, self._all = most, half, len(fit.syllables)
        self._settled = 1 + max(n for n, each in enumerate(choices) if min(each.places) < half)
        self.furthest = 0
        behind: list[dict[_Walk, _Behind]] = [{} for _ in choices]
        self._tables = [
            [table if n >= self._settled else {} for n, table in enumerate(behind)] for _ in seams
        ]
        reached = [n for n, seam in enumerate(seams) if fit.even(half - 1, seam)] or range(
            len(seams)
        )
        self._by_seam = [_NOTHING] * len(seams)
        for number in reached:
            self._enter(number)
            self._by_seam[number] = self._after(0, self._start())
        self.bent = min((each.bent for each in self._by_seam), default=_NOTHING.bent)
        self.total = sum(each.mass for each in self._by_seam if each.bent == self.bent)

    def _enter(self, number: int) -> None:
        self._seam, self._memo = self._seams[number], self._tables[number]

    def _start(self) -> _Walk:
        return _Walk(0, Last(), self._seam, Last())

    def _after(self, step: int, walk: _Walk) -> _Behind:
        """What can follow; behind the first half it is the same wherever that ended."""
        if step == len(self._choices):
            return self._end(walk)
        known = self._memo[step]
        if walk not in known:
            first = step < self._settled and walk.first < self._seam
            self.furthest = max(self.furthest, walk.first if first else walk.second)
            found = []
            for move in self._choices[step].summed(self._begins(step, walk)):
                after = self._led(step, walk, move) if move.bent <= self._limit else None
                behind = self._after(step + 1, after) if after else _NOTHING
                if behind.mass:
                    found.append(_Behind(move.bent + behind.bent, move.weight * behind.mass))
            known[walk] = _sum(found)
        return known[walk]

    def _end(self, walk: _Walk) -> _Behind:
        if walk.colours != self._most.colours:
            return _NOTHING
        return _Behind(0, _WANTED**walk.newest)

    def _begins(self, step: int, walk: _Walk) -> Begins:
        """Where the measures of a choice begin."""
        return tuple(
            (walk.first, walk.first_last) if place < self._half else (walk.second, walk.second_last)
            for place in self._choices[step].places
        )

    def _led(self, step: int, walk: _Walk, move: Move) -> _Walk | None:
        """Where a move leads; None where it sings too little or too much by the end of a half."""
        first, first_last, second, second_last, newest, colours = walk
        for place, last in zip(self._choices[step].places, move.lasts, strict=True):
            if place < self._half:
                first, first_last = first + move.size, last
                if not _ends_well(first, self._seam, last=place == self._half - 1):
                    return None
            else:
                second, second_last = second + move.size, last
                if not _ends_well(second, self._all, last=place == 2 * self._half - 1):
                    return None
        if step + 1 >= self._settled:  # the first half is sung
            first, first_last = 0, Last()
        newest = min(newest + move.newest, self._most.newest)
        return _Walk(first, first_last, second, second_last, newest, colours | move.colours)

    def weight(self, path: Path) -> int:
        """The weight of one rhythm."""
        self._enter(path[0])
        walk, product = self._start(), 1
        for step, number in enumerate(path[1:]):
            each = self._choices[step].each(self._begins(step, walk))
            move = next(move for move, other in each if other == number)
            after = self._led(step, walk, move)
            assert after is not None, "the path is one of these rhythms"
            walk, product = after, product * move.weight
        return product * self._end(walk).mass

    def draw(self, random: Random, taken: Taken) -> Path:
        """One rhythm of those that were not taken out, by its weight."""
        seams = [
            (number, behind.mass - taken.of((number,)))
            for number, behind in enumerate(self._by_seam)
            if behind.bent == self.bent
        ]
        path: Path = (pick(seams, random),)
        self._enter(path[0])
        walk, so_far = self._start(), 1
        for step, choice in enumerate(self._choices):
            here = self._after(step, walk)
            options = []
            for move, number in choice.each(self._begins(step, walk)):
                after = self._led(step, walk, move) if move.bent <= self._limit else None
                behind = self._after(step + 1, after) if after else _NOTHING
                if after and behind.mass and move.bent + behind.bent == here.bent:
                    left = so_far * move.weight * behind.mass - taken.of((*path, number))
                    options.append(((number, move.weight, after), left))
            number, weight, walk = pick(options, random)
            path = (*path, number)
            so_far *= weight
        return path


def _ends_well(sung: int, wanted: int, *, last: bool) -> bool:
    """Whether a half may have sung so many syllables by the end of a measure, or of its last."""
    return sung == wanted if last else sung <= wanted


def _sum(ways: Sequence[_Behind]) -> _Behind:
    least = min((way.bent for way in ways), default=_NOTHING.bent)
    return _Behind(least, sum(way.mass for way in ways if way.bent == least))
