"""How a page of music is written out beside its notes: lines under them, size, rhythm alone."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum

from bot.music.rhythm_names import RhythmNames


class Under(StrEnum):
    """A line of text under the notes. None stands there unless a choir asks for it.

    Words are no such line: they are part of the music that has any.
    """

    SYLLABLES = "syllables"
    NUMBERS = "numbers"
    LETTERS = "letters"
    RHYTHM = "rhythm"  # rhythm syllables of the choir's way
    BEATS = "beats"  # figures of the beats


@dataclass(frozen=True, slots=True, kw_only=True)
class PageOptions:
    """What a choir, or one take-home sheet, has beside the notes.

    `under` in the order of `Under`. `large` prints fewer measures a line and so everything larger;
    `one_a_line` one measure. `rhythm_only` writes the rhythm on a single line without pitches.
    """

    under: tuple[Under, ...] = ()
    rhythm_names: RhythmNames = RhythmNames.TIKA
    large: bool = False
    one_a_line: bool = False
    rhythm_only: bool = False
    measure_numbers: bool = True

    def bare_rhythm(self) -> PageOptions:
        """The same page with the rhythm alone, and no names of tones under it."""
        under = tuple(each for each in self.under if each in (Under.RHYTHM, Under.BEATS))
        return replace(self, under=under, rhythm_only=True)
