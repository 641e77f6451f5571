"""Dividing a written word into as many syllables as are spoken, and guessing where it is stressed.

A pronouncing dictionary says how many syllables a word has, a hyphenation dictionary where a
printer would break it; the printer breaks more seldom. Between the two, every way to cut a word is
weighed: each piece has a vowel, one consonant goes to the vowel behind it, two are parted, and a
final mute e makes no syllable.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from functools import cache
from itertools import combinations, pairwise

_VOWELS = "aeiouyáéíóúàèìòùâêîôûäëïöü"
_TOGETHER = (
    "sh", "ch", "th", "ph", "wh", "ck", "ng", "bl", "br", "cl", "cr", "dr", "fl", "fr", "gl", "gr",
    "pl", "pr", "sl", "sc", "sk", "sm", "sn", "sp", "st", "sw", "tr", "tw", "qu",
)  # fmt: skip
_NEVER_FIRST = ("ng", "ck")  # together, but no syllable begins with them
_NEVER_PARTED = ("sh", "ch", "th", "ph", "wh", "ck", "qu", "gh")
_ENDINGS = ("ing", "ings", "ed")  # set off whole: jump-ing, want-ed; but run-ning
_DIPHTHONGS = frozenset(
    first + second
    for first, seconds in {
        "a": "iuwy",
        "e": "aeiouwy",
        "i": "e",
        "o": "aeiouwy",
        "u": "eiy",
    }.items()
    for second in seconds
)
# Endings before which the stress falls, and beginnings that do not take it.
_STRESS_BEFORE = ("tion", "sion", "cian", "ic", "ics", "ity", "ial", "ian", "ious", "eous", "ia")
_LIGHT = ("a", "be", "de", "re", "un", "en", "em", "ex", "im", "in", "dis", "mis", "pre", "con")
_SYLLABLES_BEHIND = ("ly", "ful", "less", "ness", "ment", "some")  # a mute e stays mute before them
_VOWELLESS = (
    "n't",
    "thm",
    "thms",
)  # last pieces that sound without a written vowel: did-n't, rhy-thm
_PRINTERS, _EVEN = 2.0, 0.1
_MOST = 9  # syllables of a word


def divide(word: str, syllables: int, breaks: Collection[int] = ()) -> tuple[str, ...] | None:
    """Cut a word into so many pieces; `breaks` are places where a printer would break it.

    Breaks that give just so many pieces are followed, but where an apostrophe leaves a letter out.
    None where it has too few letters for them.

    >>> divide("brightest", 2, (6,)), divide("strengthened", 2, (8,))
    (('bright', 'est'), ('strength', 'ened'))
    >>> divide("lanterns", 2, (2, 5)), divide("every", 2, (2,)), divide("couldn't", 2)
    (('lan', 'terns'), ('ev', 'ery'), ('could', "n't"))
    """
    if syllables == 1:
        return (word,)
    lower = word.lower()
    printed = _cut(word, sorted(breaks))
    if len(printed) == syllables and "'" not in word and all(map(_has_vowel, printed)):
        return printed
    places = [at for at in range(1, len(word)) if _may_cut(lower, at)]
    best: tuple[float, tuple[str, ...]] | None = None
    for cuts in combinations(places, min(syllables, _MOST) - 1):
        pieces = _cut(word, cuts)
        if not (all(map(_has_vowel, pieces[:-1])) and _sounds_last(pieces[-1], lower)):
            continue
        score = sum(_worth(lower, at) + _PRINTERS * (at in breaks) for at in cuts)
        score -= _mute(pieces[-1]) + _EVEN * max(map(len, pieces))
        if best is None or score > best[0]:
            best = (score, pieces)
    return best[1] if best and len(best[1]) == syllables else None


def _cut(word: str, cuts: Sequence[int]) -> tuple[str, ...]:
    return tuple(word[a:b] for a, b in pairwise((0, *cuts, len(word))))


@cache
def spoken_vowels(word: str) -> int:
    """How many syllables a word seems to have by its letters: groups of vowels, no mute e.

    >>> [spoken_vowels(word) for word in ("glimmerfish", "snorple", "blue", "wished", "pensively")]
    [3, 2, 1, 1, 3]
    """
    lower = word.lower()
    for ending in _SYLLABLES_BEHIND:
        stem = lower.removesuffix(ending)
        if stem != lower and len(stem) > 2 and stem.endswith("e"):
            return spoken_vowels(stem) + 1
    count, at = 0, 0
    while at < len(lower):
        if not _is_vowel(lower, at):
            at += 1
            continue
        count += 1
        at += 2 if lower[at : at + 2] in _DIPHTHONGS else 1
    return max(count - _silent_end(lower), 1)


def _silent_end(word: str) -> bool:
    """Whether the last vowel is a mute e: `late`, `whale`, `wished`, `waves`."""
    if word.endswith("e"):
        syllabic = word.endswith("le") and not _is_vowel(word, len(word) - 3)
        return not syllabic and not word.endswith(("ee", "ie", "oe", "ue"))
    if word.endswith("ed"):
        return word[-3:-2] not in ("t", "d")
    return word.endswith("es") and not word.endswith(("ses", "xes", "zes", "hes"))


def guess_stress(pieces: tuple[str, ...]) -> int:
    """Which syllable of an unknown word is stressed, from 0: a rule of thumb for English.

    >>> guess_stress(("glim", "mer", "fish")), guess_stress(("a", "gleam"))
    (0, 1)
    """
    if len(pieces) == 1:
        return 0
    word = "".join(pieces).lower()
    if len(pieces) > 2 and word.endswith(_STRESS_BEFORE):
        two = word.endswith(("ity", "ial", "ian", "ious", "eous", "ia")) and len(pieces) > 3
        return len(pieces) - (3 if two else 2)
    if pieces[0].lower() in _LIGHT:
        return 1
    return 0 if len(pieces) < 4 else len(pieces) - 3


def _is_vowel(word: str, at: int) -> bool:
    if not 0 <= at < len(word) or word[at] not in _VOWELS:
        return False
    if word[at] == "y" and at + 1 < len(word) and word[at + 1] in "aeiou":
        return False
    return not (word[at] == "u" and at and word[at - 1] == "q")


def _has_vowel(piece: str) -> bool:
    return any(_is_vowel(piece.lower(), at) for at in range(len(piece)))


def _sounds_last(piece: str, word: str) -> bool:
    """Whether the last piece of a word is a syllable: of `prism` also the m."""
    lower = piece.lower()
    bare = lower in ("m", "ms") and word.endswith(f"s{lower}")
    return _has_vowel(piece) or lower in _VOWELLESS or bare


def _is_elided(word: str, at: int) -> bool:
    """Whether an apostrophe stands for a vowel before a syllable at `at`: ev'ry; or o'clock."""
    if word[at - 1] == "'" and _is_vowel(word, at - 2):
        return True
    consonant = word[at + 1 : at + 2].isalpha() and not _is_vowel(word, at + 1)
    return word[at] == "'" and consonant and _is_vowel(word, at + 2)


def _may_cut(word: str, at: int) -> bool:
    if _is_elided(word, at):
        return True
    if not (word[at - 1].isalpha() and word[at].isalpha()):
        return False
    return word[at - 1 : at + 1] not in _NEVER_PARTED


def _worth(word: str, at: int) -> float:
    """How natural a cut is before the letter at `at`."""
    before, after = _is_vowel(word, at - 1), _is_vowel(word, at)
    if word[at:] in _VOWELLESS or _is_elided(word, at):
        return 5.0
    if word[at:] in _ENDINGS and at > 2 and not before and word[at - 1] != word[at - 2]:
        return 2.0
    if before and after:
        return -1.0 if word[at - 1 : at + 1] in _DIPHTHONGS else 1.0
    if before:  # V-CV is good, V-CCV where the consonants go together
        run = _consonants(word, at)
        if _is_vowel(word, at + 1):
            return 0.8
        pair = word[at : at + 2]
        begins = pair in _TOGETHER and pair not in _NEVER_FIRST
        return 1.2 if begins and run == 2 else -2.5
    if after:
        return -0.5  # VC-V
    alone = word[at - 1 : at + 1] not in _TOGETHER
    return (1.6 if alone else 0.2) if _is_vowel(word, at + 1) or not alone else 0.6


def _consonants(word: str, at: int) -> int:
    run = 0
    while at + run < len(word) and not _is_vowel(word, at + run):
        run += 1
    return run


def _mute(piece: str) -> float:
    """How bad it is to sing a last piece by itself: a mute e."""
    lower = piece.lower()
    vowels = [at for at in range(len(lower)) if _is_vowel(lower, at)]
    silent = vowels == [len(lower) - 1] and lower.endswith("e") and not lower.endswith("le")
    return 1.0 if silent else 0.0
