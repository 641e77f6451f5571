"""All rhythms of one form with one choice of colours, weighed exactly in whole numbers.

A form gives each measure a letter; measures of one letter share a rhythm. What a line needs of its
rhythm adds up over letters: notes in each phrase, cells of the newest step, each other colour once;
and letters agree about the bar lines between them over which notes are held. So the weights of all
rhythms are summed letter by letter, and a rhythm is drawn letter by letter with its exact
probability; what has been taken out before does not come again.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from itertools import accumulate
from operator import or_
from random import Random
from typing import NamedTuple, TypeVar

from bot.music.note_counts import NoteCounts
from bot.music.patterns import Pattern

_T = TypeVar("_T")


class Sum(NamedTuple):
    """What a line has so far, held fast where more does not matter."""

    first: int = 0  # notes of the first phrase
    second: int = 0
    newest: int = 0  # cells of the newest rhythm step
    colours: int = 0  # a bit for each
    ties: int = 0  # a bit for each bar line over which a note is held


class Candidate(NamedTuple):
    """A measure of rhythm for one letter, with its weight and what it adds in all its places."""

    pattern: Pattern
    weight: int
    adds: Sum


Path = tuple[int, ...]  # the number of the candidate for each letter


class Rhythms:
    """The rhythms of one form. `most` is what a line needs, and where counts are held fast.

    `lines` are the bar lines beside each letter over which notes may be held, a bit for each.
    """

    def __init__(
        self,
        letters: Sequence[Sequence[Candidate]],
        counts: NoteCounts,
        most: Sum,
        lines: Sequence[int] = (),
    ) -> None:
        self.letters = letters
        self._shared = _settled_before(lines or [0] * len(letters))
        self._counts = counts
        self._most = most
        self._grouped = [_grouped(letter) for letter in letters]
        self._behind: list[dict[Sum, int]] = [{} for _ in letters]
        self.total = self._sum(0, Sum())

    def _sum(self, letter: int, have: Sum) -> int:
        """The weight of every way to go on from a letter."""
        if letter == len(self.letters):
            return int(self._enough(have))
        known = self._behind[letter]
        if have not in known:
            known[have] = sum(
                weight * self._sum(letter + 1, self._with(have, adds))
                for adds, (weight, _) in self._grouped[letter].items()
                if self._agrees(letter, have, adds)
            )
        return known[have]

    def _with(self, have: Sum, adds: Sum) -> Sum:
        most = self._most
        return Sum(
            min(have.first + adds.first, most.first),
            min(have.second + adds.second, most.second),
            min(have.newest + adds.newest, most.newest),
            have.colours | adds.colours,
            have.ties | adds.ties,
        )

    def _agrees(self, letter: int, have: Sum, adds: Sum) -> bool:
        """Whether a measure holds the notes over its bar lines that its neighbours hold."""
        return not (have.ties ^ adds.ties) & self._shared[letter]

    def _enough(self, have: Sum) -> bool:
        return (
            have.newest >= self._most.newest
            and have.colours == self._most.colours
            and self._counts.fits(have.first, have.second)
        )

    def weight(self, path: Path) -> int:
        """The weight of one rhythm."""
        product = 1
        for letter, number in zip(self.letters, path, strict=True):
            product *= letter[number].weight
        return product

    def holds(self, path: Path) -> bool:
        """Whether these candidates, one a letter, make a rhythm that has what a line needs."""
        have = Sum()
        for place, number in enumerate(path):
            adds = self.letters[place][number].adds
            if not self._agrees(place, have, adds):
                return False
            have = self._with(have, adds)
        return self._enough(have)

    def draw(self, random: Random, taken: Taken) -> Path:
        """One rhythm of those that were not taken out, by its weight."""
        have, so_far = Sum(), 1
        path: Path = ()
        for letter, candidates in enumerate(self.letters):
            groups = self._grouped[letter]
            left = [
                (
                    adds,
                    so_far * weight * self._sum(letter + 1, self._with(have, adds))
                    - taken.of_group(path, adds),
                )
                for adds, (weight, _) in groups.items()
                if self._agrees(letter, have, adds)
            ]
            adds = pick(left, random)
            have = self._with(have, adds)
            behind = so_far * self._sum(letter + 1, have)
            members = [
                (number, candidates[number].weight * behind - taken.of((*path, number)))
                for number in groups[adds][1]
            ]
            number = pick(members, random)
            path = (*path, number)
            so_far *= candidates[number].weight
        return path


class Taken:
    """Weights taken out of the rhythms of one form, by rhythm and by what rhythms share."""

    def __init__(self) -> None:
        self._paths: dict[Path, int] = {}
        self._groups: dict[tuple[Path, Sum], int] = {}

    def take(self, rhythms: Rhythms, path: Path, amount: int) -> None:
        """Take a weight out of one rhythm."""
        for end in range(len(path) + 1):
            start = path[:end]
            self._paths[start] = self._paths.get(start, 0) + amount
            if end < len(path):
                group = (start, rhythms.letters[end][path[end]].adds)
                self._groups[group] = self._groups.get(group, 0) + amount

    def of(self, path: Path) -> int:
        """What was taken out of the rhythms that begin so."""
        return self._paths.get(path, 0)

    def of_group(self, path: Path, adds: Sum) -> int:
        """What was taken out of those that begin so and go on with a measure that adds this."""
        return self._groups.get((path, adds), 0)


def _settled_before(lines: Sequence[int]) -> list[int]:
    """For each letter the bar lines beside it that are beside an earlier letter too."""
    before = [0, *accumulate(lines, or_)]
    return [bits & earlier for bits, earlier in zip(lines, before, strict=False)]


def _grouped(letter: Sequence[Candidate]) -> dict[Sum, tuple[int, list[int]]]:
    """What candidates add -> their weight together, their numbers."""
    groups: dict[Sum, tuple[int, list[int]]] = {}
    for number, candidate in enumerate(letter):
        weight, numbers = groups.get(candidate.adds, (0, []))
        groups[candidate.adds] = (weight + candidate.weight, [*numbers, number])
    return groups


def pick(weighed: Collection[tuple[_T, int]], random: Random) -> _T:
    """One of several by whole-number weights.

    The bits beyond the total's length make the draw even to one part in 2**64.
    """
    total = sum(weight for _, weight in weighed)
    bits = total.bit_length() + 64
    aim = total * random.getrandbits(bits) >> bits
    for value, weight in weighed:
        aim -= weight
        if aim < 0:
            return value
    raise AssertionError("nothing to pick from")
