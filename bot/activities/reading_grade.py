"""How hard a text is to read, by the Coleman-Liau index.

M. Coleman and T. L. Liau, "A computer readability formula designed for machine scoring", Journal of
Applied Psychology 60 (1975): grade = 0.0588 L - 0.296 S - 15.8, with L letters or figures and S
sentences per 100 words. It counts letters instead of syllables, so that two programs agree on it.
The reading age is about the grade and five years.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

_WORD = re.compile(r"[^\W_]+(?:['’.-][^\W_]+)*")
_INITIALS = re.compile(r"\b(?:[A-Z]\.)+(?=\s)")
_END = re.compile(r"[.!?…]+[\"”’')]*(?=\s+[\"“‘'(]*[A-Z0-9]|\s*$)", re.MULTILINE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Counts:
    """What the formula counts in a text."""

    letters: int
    words: int
    sentences: int

    @property
    def grade(self) -> float:
        """The school grade in the USA that reads the text with ease; 0.0 for a text of no words."""
        if not self.words:
            return 0.0
        letters = 100 * self.letters / self.words
        sentences = 100 * self.sentences / self.words
        return 0.0588 * letters - 0.296 * sentences - 15.8


def count(text: str) -> Counts:
    """Count letters and figures, words and sentences.

    Full stops of initials (`U.S. Office`) end no sentence, nor does a question inside a longer one
    ("Who is there?" asks the owl). A last sentence without a stop counts.

    >>> count("An owl looks down. Is it cold?")
    Counts(letters=22, words=7, sentences=2)
    """
    plain = _INITIALS.sub(lambda match: match[0].replace(".", ""), text)
    words = _WORD.findall(plain)
    ends = len(_END.findall(plain))
    open_end = bool(words) and not re.search(r"[.!?…][\"”’')]*\s*$", plain)
    return Counts(
        letters=sum(character.isalnum() for word in words for character in word),
        words=len(words),
        sentences=ends + open_end,
    )
