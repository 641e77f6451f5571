"""Words under tonic sol-fa letters: a line of syllables below each line of letters, as books print.

    KEY F. |d    :r    |m     :d     |s    :f   |m    :-   ||
            Twin- kle, twin-  kle,   lit-  tle  star

One syllable a note, blanks between; a hyphen where a word goes on (`Twin-kle` has two syllables
too), `~` between two words that share a note. Where they stand is for the eye: they are counted off
from the left.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from bot.errors import Fault
from bot.music.spot import Spot

_ON_ONE_NOTE = "\N{THIN SPACE}"
_INNER_HYPHEN = re.compile(r"(?<=[^\W\d_])-(?=[^\W\d_])")
_UNBROKEN = "\N{NON-BREAKING HYPHEN}"  # how a hyphen within one note's text is written
NOTE = re.compile(r"([|!:]?)([a-z]+['_]*)")
_ACCENT = re.compile(r"\||(?<!\S)[!:]|[!:](?=\S)")  # `Come!` and `sing:` have none


@dataclass(frozen=True, slots=True, kw_only=True)
class WordLine:
    """A line of syllables, and the number of the last line of letters above it."""

    spot: Spot
    under: int
    texts: tuple[str, ...]


def is_words(line: str) -> bool:
    """Whether a line below one of letters holds words: it begins with a letter, without accents.

    >>> is_words("Come! Sing"), is_words("m :f"), is_words("|d :r"), is_words("- :-")
    (True, False, False, False)
    """
    return bool(re.match(r"\s*[^\W\d_]|\s*[\"“'‘(]", line)) and not _ACCENT.search(line)


def word_line(line: str, number: int, under: int) -> WordLine:
    """Read line `number` as the words of line `under`."""
    column = len(line) - len(line.lstrip()) + 1
    parted = _INNER_HYPHEN.sub("- ", line).split()
    texts = tuple(text.replace("~", _ON_ONE_NOTE).replace(_UNBROKEN, "-") for text in parted)
    return WordLine(spot=Spot(line=number, column=column), under=under, texts=texts)


def words_of(
    lines: Sequence[WordLine], notes: Sequence[int], faults: list[Fault]
) -> tuple[str, ...]:
    """The words of a part whose notes stand on the lines numbered `notes`; empty without any.

    A line of words belongs to all letters since the words before it.
    """
    words: list[str] = []
    done = 0
    for line in lines:
        count = sum(done < number <= line.under for number in notes)
        if line.under == done:
            faults.append(line.spot.fault("a second line of words", "leave one verse"))
        elif len(line.texts) != count:
            problem = f"{_count(len(line.texts), 'syllable')} under {_count(count, 'note')}"
            remedy = "one a note; lan-terns parts a word, ~ joins two"
            faults.append(line.spot.fault(problem, remedy))
        words += line.texts
        done = line.under
    left = [number for number in notes if number > done]
    if lines and left:
        spot = Spot(line=left[0], column=1)
        faults.append(spot.fault("there are no words below", "words below every line, or none"))
    return tuple(words)


def with_words(letters: str, texts: Sequence[str]) -> tuple[str, str]:
    """A line of letters drawn out until every text has room under its note; and the texts.

    >>> with_words("|d :m.r |d :-", ["Lan-", "terns", "glow", "bright"])
    ('|d   :m.    r   |d :-', ' Lan- terns glow bright')
    """
    music, words, done = "", "", 0
    for note, text in zip(NOTE.finditer(letters), texts, strict=True):
        music += letters[done : note.start()]
        room = len(words) + bool(words) - len(music) - len(note[1])
        music += " " * max(room, 0) + note[0]
        words = words.ljust(len(music) - len(note[2])) + _plain(text)
        done = note.end()
    return music + letters[done:], words


def _plain(text: str) -> str:
    one = _INNER_HYPHEN.sub(_UNBROKEN, text)
    return one.replace(_ON_ONE_NOTE, "~").replace("|", "/")


def _count(number: int, what: str) -> str:
    return f"{number} {what}" + ("" if number == 1 else "s")
