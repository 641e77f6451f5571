"""Words to be sung as values: syllables with their stress, line by line, one note for each."""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum


class Stress(IntEnum):
    """How strongly a syllable is spoken; HALF may go either way (`my`, `when`)."""

    NONE = 0
    HALF = 1
    FULL = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Syllable:
    """One syllable as it stands under its note, with the signs that cling to it (`snow,`).

    `word` is the whole word, for messages. `goes_on`: the word goes on with the next syllable.
    `pause`: a comma or a stop follows it, so that singers may breathe.
    """

    text: str
    stress: Stress
    word: str
    goes_on: bool = False
    pause: bool = False

    @property
    def under(self) -> str:
        """What an exercise keeps: the text, with a hyphen where the word goes on.

        >>> Syllable(text="lan", stress=Stress.FULL, word="lantern", goes_on=True).under
        'lan-'
        """
        return self.text + ("-" if self.goes_on else "")


@dataclass(frozen=True, slots=True, kw_only=True)
class Words:
    """Lines of syllables; a line is sung in one breath and ends as a phrase does."""

    lines: tuple[tuple[Syllable, ...], ...]

    @property
    def syllables(self) -> tuple[Syllable, ...]:
        """All syllables in order: as many notes."""
        return tuple(syllable for line in self.lines for syllable in line)

    @property
    def line_ends(self) -> tuple[int, ...]:
        """How many syllables there are up to the end of each line.

        >>> line = (Syllable(text="snow", stress=Stress.FULL, word="snow"),)
        >>> Words(lines=(line * 3, line * 2)).line_ends
        (3, 5)
        """
        ends, total = [], 0
        for line in self.lines:
            total += len(line)
            ends.append(total)
        return tuple(ends)
