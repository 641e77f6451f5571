"""What measures make of the same words, kept for all lines that are set to them: for every voice.

It depends on the words and on the rhythms of a level, not on its tones.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction

from bot.music.cell import Cell
from bot.music.level import Level
from bot.music.patterns import Name, Pattern, Role
from bot.music.rhythm import Metre
from bot.music.word_fit import WordFit
from bot.music.word_moves import WordMoves
from bot.music.word_rhythms import WordRhythms
from bot.music.words import Words

Weighed = tuple[int, tuple[Role, ...]]  # a measure by its identity, and what it does in its places
Choice = tuple[tuple[int, ...], tuple[str, ...], int]  # places, colours, measures of a half
# A form's letters, colours, where the second half may begin, how often stress may be bent.
Sung = tuple[str, tuple[str, ...], tuple[int, ...], int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """What is kept for one metre and length, with a pickup or without.

    `same`: a measure by its name is one object everywhere, so that it is known by its identity.
    """

    fit: WordFit
    same: dict[Name, Pattern] = field(default_factory=dict)
    weights: dict[Weighed, int] = field(default_factory=dict)
    choices: dict[Choice, WordMoves] = field(default_factory=dict)
    rhythms: dict[Sung, WordRhythms] = field(default_factory=dict)


class WordTables:
    """Everything that is kept, by words and rhythms."""

    def __init__(self) -> None:
        self._kept: dict[object, Kept] = {}

    def of(
        self, words: Words, level: Level, metre: Metre, measures: int, pickup: Cell | None
    ) -> Kept:
        """What is kept for these words among the rhythms of a level."""
        rhythms = level.cells, level.held, level.rules, level.rhythm_focus
        key = words, rhythms, metre, measures, pickup
        if key not in self._kept:
            length = pickup.duration if pickup else Fraction(0)
            self._kept[key] = Kept(fit=WordFit(words, metre, measures, length))
        return self._kept[key]
