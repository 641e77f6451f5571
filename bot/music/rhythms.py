"""All rhythms of one form with one choice of colours, weighed exactly in whole numbers.

A form gives each measure a letter; measures of one letter share a rhythm. What a line needs of its
rhythm adds up over letters: notes in each phrase, cells of the newest step, each other colour once;
and letters agree about the bar lines between them over which notes are held. So the weights of all
rhythms are summed letter by letter, and a rhythm is drawn letter by letter with its exact
probability; what has been taken out before does not come again.
"""

from __future__ import annotations

from bisect import bisect_right
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


class _Group(NamedTuple):
    """Candidates that add the same: their numbers, and the sum of the weights up to each."""

    numbers: Sequence[int]
    up_to: Sequence[int]

    @property
    def weight(self) -> int:
        """The weight of all of them."""
        return self.up_to[-1]


class _Way(NamedTuple):
    """What a measure adds, what a line has then, the weight behind it, and that with its own."""

    adds: Sum
    after: Sum
    behind: int
    weight: int


class _Ways(NamedTuple):
    """Ways to go on, and the sum of their weights up to each."""

    each: Sequence[_Way]
    up_to: Sequence[int]


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
        self._onward: list[dict[Sum, _Ways]] = [{} for _ in letters]  # as many at most
        self.total = self._sum(0, Sum())

    def _sum(self, letter: int, have: Sum) -> int:
        """The weight of every way to go on from a letter."""
        if letter == len(self.letters):
            return int(self._enough(have))
        known = self._behind[letter]
        if have not in known:
            known[have] = sum(
                group.weight * self._sum(letter + 1, self._with(have, adds))
                for adds, group in self._grouped[letter].items()
                if self._agrees(letter, have, adds)
            )
        return known[have]

    def _with(self, have: Sum, adds: Sum) -> Sum:
        most = self._most
        first, second = have.first + adds.first, have.second + adds.second
        newest = have.newest + adds.newest
        return Sum(
            first if first < most.first else most.first,
            second if second < most.second else most.second,
            newest if newest < most.newest else most.newest,
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
            ways = self._ways_on(letter, have)
            if taken.of(path):
                left = [
                    (way, so_far * way.weight - taken.of_group(path, way.adds)) for way in ways.each
                ]
                adds, have, behind = pick(left, random)[:3]
            else:
                adds, have, behind = ways.each[place_of(ways.up_to, so_far, random)][:3]
            behind *= so_far
            group = self._grouped[letter][adds]
            if taken.of_group(path, adds):
                members = [
                    (number, candidates[number].weight * behind - taken.of((*path, number)))
                    for number in group.numbers
                ]
                number = pick(members, random)
            else:
                number = group.numbers[place_of(group.up_to, behind, random)]
            path = (*path, number)
            so_far *= candidates[number].weight
        return path

    def _ways_on(self, letter: int, have: Sum) -> _Ways:
        """How to go on from a letter; kept, since what was drawn before is likely to come again."""
        known = self._onward[letter]
        if have not in known:
            each = []
            for adds, group in self._grouped[letter].items():
                if self._agrees(letter, have, adds):
                    after = self._with(have, adds)
                    behind = self._sum(letter + 1, after)
                    each.append(_Way(adds, after, behind, group.weight * behind))
            known[have] = _Ways(each, [*accumulate(way.weight for way in each)])
        return known[have]


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


def _grouped(letter: Sequence[Candidate]) -> dict[Sum, _Group]:
    """What candidates add -> those that add it."""
    numbers: dict[Sum, list[int]] = {}
    for number, candidate in enumerate(letter):
        numbers.setdefault(candidate.adds, []).append(number)
    return {
        adds: _Group(each, [*accumulate(letter[number].weight for number in each)])
        for adds, each in numbers.items()
    }


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


def place_of(up_to: Sequence[int], factor: int, random: Random) -> int:
    """What `pick` gives of weights whose sums up to each are known, all of them times a factor."""
    total = up_to[-1] * factor
    bits = total.bit_length() + 64
    aim = total * random.getrandbits(bits) >> bits
    return bisect_right(up_to, aim // factor)
