"""All rhythms of one form with one choice of colours, weighed exactly in whole numbers.

A form gives each measure a letter; measures of one letter share a rhythm. What a line needs of its
rhythm adds up over letters: notes in each phrase, cells of the newest step, each other colour once;
and letters agree about the bar lines between them over which notes are held. So the weights of all
rhythms are summed letter by letter, and a rhythm is drawn letter by letter with its exact
probability; what has been taken out before does not come again.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Collection, Iterator, Sequence
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
    """Candidates that add the same: their weight together, numbers, weights up to each."""

    adds: Sum
    weight: int
    numbers: Sequence[int]
    up_to: Sequence[int]


class _Way(NamedTuple):
    """Measures that add the same, what a line has then, the weight behind it, theirs times that."""

    group: _Group
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
        self._groups = [_grouped(letter) for letter in letters]
        self._behind: list[dict[Sum, int]] = [{} for _ in (*letters, None)]  # the end is the last
        self._known: list[dict[Sum, _Ways]] = [{} for _ in letters]  # as many at most
        self.total = self._sum(0, Sum())

    def _sum(self, letter: int, have: Sum) -> int:
        """The weight of every way to go on from a letter."""
        if letter == len(self.letters):
            return int(self._enough(have))
        behind, total = self._behind[letter + 1], 0
        for group, after in self._onward(letter, have):
            if after not in behind:
                behind[after] = self._sum(letter + 1, after)
            total += group.weight * behind[after]
        return total

    def _onward(self, letter: int, have: Sum) -> Iterator[tuple[_Group, Sum]]:
        """The measures that hold the notes over their bar lines that their neighbours hold.

        With what a line has then. Looked at for every sum of every letter, so it is spelled out.
        """
        first, second, newest, colours, ties = have
        most_first, most_second, most_newest, _, _ = self._most
        shared = self._shared[letter]
        for group in self._groups[letter]:
            more_first, more_second, more_newest, more_colours, more_ties = group.adds
            if (ties ^ more_ties) & shared:
                continue
            more_first += first
            more_second += second
            more_newest += newest
            after = (
                more_first if more_first < most_first else most_first,
                more_second if more_second < most_second else most_second,
                more_newest if more_newest < most_newest else most_newest,
                colours | more_colours,
                ties | more_ties,
            )
            yield group, tuple.__new__(Sum, after)

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
        for letter, number in enumerate(path):
            adds = self.letters[letter][number].adds
            ways = (after for group, after in self._onward(letter, have) if group.adds == adds)
            after = next(ways, None)
            if after is None:
                return False
            have = after
        return self._enough(have)

    def draw(self, random: Random, taken: Taken) -> Path:
        """One rhythm of those that were not taken out, by its weight."""
        have, so_far = Sum(), 1
        path: Path = ()
        for letter, candidates in enumerate(self.letters):
            ways = self._ways_on(letter, have)
            if taken.of(path):
                left = [
                    (way, so_far * way.weight - taken.of_group(path, way.group.adds))
                    for way in ways.each
                ]
                group, have, behind, _ = pick(left, random)
            else:
                group, have, behind, _ = ways.each[place_of(ways.up_to, so_far, random)]
            behind *= so_far
            if taken.of_group(path, group.adds):
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
        known = self._known[letter]
        if have not in known:
            behind = self._behind[letter + 1]
            each = [
                _Way(group, after, behind[after], group.weight * behind[after])
                for group, after in self._onward(letter, have)
            ]
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


def _grouped(letter: Sequence[Candidate]) -> list[_Group]:
    """Candidates by what they add."""
    numbers: dict[Sum, list[int]] = {}
    for number, candidate in enumerate(letter):
        numbers.setdefault(candidate.adds, []).append(number)
    groups = []
    for adds, each in numbers.items():
        up_to = [*accumulate(letter[number].weight for number in each)]
        groups.append(_Group(adds, up_to[-1], each, up_to))
    return groups


def aim_below(total: int, random: Random) -> int:
    """A whole number from 0 to below the total, each as likely.

    The bits beyond the total's length make it even to one part in 2**64.
    """
    bits = total.bit_length() + 64
    return total * random.getrandbits(bits) >> bits


def pick(weighed: Collection[tuple[_T, int]], random: Random) -> _T:
    """One of several by whole-number weights."""
    total = sum(weight for _, weight in weighed)
    aim = aim_below(total, random)
    for value, weight in weighed:
        aim -= weight
        if aim < 0:
            return value
    raise AssertionError("nothing to pick from")


def place_of(up_to: Sequence[int], factor: int, random: Random) -> int:
    """What `pick` gives of weights whose sums up to each are known, all of them times a factor."""
    return bisect_right(up_to, aim_below(up_to[-1] * factor, random) // factor)
