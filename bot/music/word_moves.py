"""What measures make of words, summed over all of them that make the same of these.

Many rhythms sing as many syllables, end on as strong and long a note and bend stress as much. To
the rest of a line they are one, with the sum of their weights; only a draw tells them apart. Sums
are kept by where the syllables begin, for every form that has such a choice.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from bot.music.rhythms import Candidate
from bot.music.word_fit import Last, WordFit

_FINE = 1_000  # parts of a factor

Begin = tuple[int, Last]  # syllables sung before a measure, the note before it
Begins = tuple[Begin, ...]  # of each measure that a choice fills


class Move(NamedTuple):
    """What a measure does: how bent, how many syllables it sings, the last note in each place.

    And what it adds of the newest rhythm and of colours; `weight` is that of all that do so.
    """

    bent: int
    size: int
    lasts: tuple[Last, ...]
    newest: int
    colours: int
    weight: int


class WordMoves:
    """The measures of one choice, which fills `places`, each from 0; the weights of what they do.

    Places whose ends no evenly spaced text reaches have no moves there.
    """

    def __init__(
        self, candidates: Sequence[Candidate], places: tuple[int, ...], fit: WordFit
    ) -> None:
        self.candidates, self.places, self._fit = candidates, places, fit
        self._sizes: dict[int, list[tuple[int, Candidate]]] = {}
        for number, candidate in enumerate(candidates):
            self._sizes.setdefault(candidate.pattern.notes, []).append((number, candidate))
        self._each: dict[Begins, list[tuple[Move, int]]] = {}
        self._summed: dict[Begins, list[Move]] = {}

    def each(self, begins: Begins) -> list[tuple[Move, int]]:
        """The move of every measure that fits there, with the measure's number."""
        if begins not in self._each:
            self._each[begins] = list(self._fitting(begins))
        return self._each[begins]

    def summed(self, begins: Begins) -> list[Move]:
        """What measures do there, each thing once."""
        if begins not in self._summed:
            weights: dict[tuple[int, int, tuple[Last, ...], int, int], int] = {}
            for (*does, weight), _ in self._fitting(begins):
                key = tuple.__new__(tuple, does)
                weights[key] = weights.get(key, 0) + weight
            self._summed[begins] = [Move(*does, weight) for does, weight in weights.items()]
        return self._summed[begins]

    def _fitting(self, begins: Begins) -> Iterator[tuple[Move, int]]:
        fit = self._fit.fit
        for size, group in self._sizes.items():
            even = self._even(begins, size)
            if not even:
                continue
            for number, candidate in group:
                bent, weight, lasts = 0, candidate.weight * even, []
                for start, last in begins:
                    found = fit(candidate.pattern, start, last)
                    if found is None:
                        break
                    bent, weight = bent + found.bent, weight * found.factor
                    lasts.append(found.last)
                else:
                    adds = candidate.adds
                    yield Move(bent, size, tuple(lasts), adds.newest, adds.colours, weight), number

    def _even(self, begins: Begins, size: int) -> int:
        """How evenly so many more syllables lie over the places; 0 where they cannot."""
        welcome = 1.0
        for place, (start, _) in zip(self.places, begins, strict=True):
            welcome *= self._fit.even(place, start + size)
        return max(round(welcome * _FINE), 1) if welcome else 0
