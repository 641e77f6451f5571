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

_WANTED = 3  # how much more often a rhythm comes for each new cell that it has, up to what is usual
_FINE = 1_000  # parts of a factor


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


_NOTHING = _Behind(1 << 40, 0)


class WordRhythms(Rhythms):
    """The rhythms of one form for words.

    `steps` names the measures that each choice fills; the first choice is where the second half
    begins (`seams`: syllables before it). `half` counts the measures before it.
    """

    def __init__(
        self,
        letters: Sequence[Sequence[Candidate]],
        steps: Sequence[tuple[int, ...]],
        seams: Sequence[int],
        fit: WordFit,
        most: Sum,
        half: int,
    ) -> None:
        none = Candidate(Pattern(cells=(), struck=(), notes=0, uniform=False), 1, Sum())
        self.letters = [[none] * len(seams), *letters]
        self._steps, self._seams, self._fit = steps, seams, fit
        self._most, self._half = most, half
        self._all = len(fit.syllables)
        self.furthest = 0
        self._sizes = [_by_size(letter) for letter in letters]
        self._memo: list[dict[_Walk, _Behind]] = []
        self._by_seam: list[_Behind] = []
        self._tables: list[list[dict[_Walk, _Behind]]] = []
        for seam in seams:
            self._seam, self._memo = seam, [{} for _ in steps]
            self._by_seam.append(self._after(0, self._start(seam)))
            self._tables.append(self._memo)
        self.bent = min((each.bent for each in self._by_seam), default=_NOTHING.bent)
        self.total = sum(each.mass for each in self._by_seam if each.bent == self.bent)

    def _start(self, seam: int) -> _Walk:
        return _Walk(0, Last(), seam, Last())

    def _after(self, step: int, walk: _Walk) -> _Behind:
        if step == len(self._steps):
            return self._end(walk)
        known = self._memo[step]
        if walk not in known:
            self.furthest = max(
                self.furthest, walk.first if walk.first < self._seam else walk.second
            )
            known[walk] = _sum(
                [
                    _Behind(bent + behind.bent, weight * behind.mass)
                    for bent, weight, after, _ in self._ways(step, walk)
                    if (behind := self._after(step + 1, after)).mass
                ]
            )
        return known[walk]

    def _end(self, walk: _Walk) -> _Behind:
        done = walk.first == self._seam and walk.second == self._all
        if not done or walk.colours != self._most.colours:
            return _NOTHING
        return _Behind(0, _WANTED**walk.newest)

    def _ways(self, step: int, walk: _Walk) -> list[tuple[int, int, _Walk, int]]:
        """Ways on: bent, weight, where it leads, the candidate's number."""
        found = []
        for size, group in self._sizes[step].items():
            even = self._even(step, walk, size)
            if not even:
                continue
            for number, candidate in group:
                bent, weight, after = 0, candidate.weight * even, walk
                for measure in self._steps[step]:
                    early = measure < self._half
                    start, last = after[0:2] if early else after[2:4]
                    fit = self._fit.fit(candidate.pattern, start, last)
                    if fit is None:
                        break
                    bent, weight = bent + fit.bent, weight * fit.factor
                    end = start + size
                    after = (
                        after._replace(first=end, first_last=fit.last)
                        if early
                        else after._replace(second=end, second_last=fit.last)
                    )
                else:
                    found.append((bent, weight, self._met(after, candidate), number))
        return found

    def _met(self, walk: _Walk, candidate: Candidate) -> _Walk:
        adds = candidate.adds
        newest = min(walk.newest + adds.newest, self._most.newest)
        return walk._replace(newest=newest, colours=walk.colours | adds.colours)

    def _even(self, step: int, walk: _Walk, size: int) -> int:
        """How evenly so many more syllables lie over a step's measures; 0 where they cannot."""
        welcome = 1.0
        for measure in self._steps[step]:
            end = (walk.first if measure < self._half else walk.second) + size
            if not self._may_end(measure, end):
                return 0
            welcome *= self._fit.even(measure, end)
        return max(round(welcome * _FINE), 1) if welcome else 0

    def _may_end(self, measure: int, end: int) -> bool:
        if measure < self._half:
            last = measure == self._half - 1
            return end == self._seam if last else end <= self._seam
        last = measure == 2 * self._half - 1
        return end == self._all if last else end <= self._all

    def weight(self, path: Path) -> int:
        """The weight of one rhythm."""
        self._enter(path[0])
        walk, product = self._start(self._seam), 1
        for step, number in enumerate(path[1:]):
            _, weight, walk, _ = next(w for w in self._ways(step, walk) if w[3] == number)
            product *= weight
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
        walk, so_far = self._start(self._seam), 1
        for step in range(len(self._steps)):
            here = self._after(step, walk)
            options = []
            for bent, weight, after, number in self._ways(step, walk):
                behind = self._after(step + 1, after)
                if behind.mass and bent + behind.bent == here.bent:
                    left = so_far * weight * behind.mass - taken.of((*path, number))
                    options.append(((number, weight, after), left))
            number, weight, walk = pick(options, random)
            path = (*path, number)
            so_far *= weight
        return path

    def _enter(self, number: int) -> None:
        self._seam, self._memo = self._seams[number], self._tables[number]


def _sum(ways: Sequence[_Behind]) -> _Behind:
    least = min((way.bent for way in ways), default=_NOTHING.bent)
    return _Behind(least, sum(way.mass for way in ways if way.bent == least))


def _by_size(letter: Sequence[Candidate]) -> dict[int, list[tuple[int, Candidate]]]:
    """Number of notes -> the candidates that have so many, with their numbers."""
    found: dict[int, list[tuple[int, Candidate]]] = {}
    for number, candidate in enumerate(letter):
        found.setdefault(candidate.pattern.notes, []).append((number, candidate))
    return found
