"""Text to syllables with stress: the author's marks first, then a dictionary, then a rule of thumb.

    lan-terns         a hyphen divides a word where its author wants it
    ^all the _way     `^` before a syllable: stressed; `_`: unstressed
    one line / two    a slash or a new line ends a line, and so a phrase

A word with `^` has its other syllables unstressed. Words joined by hyphens that are no division of
one word (`merry-go-round`) are read one by one. Little words (`the`, `and`, `my`) are not stressed,
whatever a dictionary says of them alone.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Protocol

from bot.errors import Fault, InputProblems
from bot.music.dividing import divide, guess_stress, spoken_vowels
from bot.music.words import Stress, Syllable, Words


def _listed(text: str) -> frozenset[str]:
    return frozenset(text.split())


# Monosyllables that lean on their neighbours: articles, prepositions, pronouns, auxiliaries,
# conjunctions. Those of the second list may carry a beat or give way.
_LIGHT = _listed(
    "a an the and or but nor as at by for from in of on to than that with if so tis twas til em is"
    " am are was were be been do does did can could may might shall should will would it its he him"
    " she they them we us you your i me it's i'm i'll i've we'll we're we've you'll you're he's"
    " she's they're they'll let's which o till while ere upon into"
)
_EITHER = _listed(
    "my our your his her their all no not now then here there when where how what why who this"
    " these those out down up off through yet one two each some such too just still let come go see"
    " oh ah own more most round like since though must both ne'er thy thine thou thee ye o'er has"
    " had have neath mid gainst"
)
_WORD = re.compile(r"[\^_]?[^\W\d_](?:['’\-^_]{0,2}[^\W\d_])*['’]?")
_SIGNS = str.maketrans({"’": "'", "‘": "'"})
_PAUSES = frozenset(",;:.!?—–")
_DASHES = "—–-… "
_SPEAKABLE = frozenset(" \t'’‘\"“”,;:.!?—–-()…")


class Speech(Protocol):
    """What dictionaries know of a word in small letters."""

    def stresses(self, word: str) -> tuple[tuple[Stress, ...], ...]:
        """The stress of each syllable, for each way to say the word; empty where it is unknown."""
        ...

    def breaks(self, word: str) -> tuple[int, ...]:
        """Where a printer would break it, as numbers of letters before the break."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True)
class Guess:
    """A word that no dictionary has, and how it was read: `snor-ple`, stress as `^` marks."""

    word: str
    read_as: str


@dataclass(frozen=True, slots=True, kw_only=True)
class WordsRead:
    """Words ready to be sung, and the words in them that were guessed."""

    words: Words
    guessed: tuple[Guess, ...] = ()


def read_words(text: str, speech: Speech) -> WordsRead:
    """Read text that is to be sung; InputProblems names every sign that cannot be.

    Faults have `line N` as their place.
    """
    faults: list[Fault] = []
    guessed: dict[str, Guess] = {}
    lines = []
    rows = [row for line in text.splitlines() for row in line.split("/")]
    for number, row in enumerate((row for row in rows if row.strip()), start=1):
        faults += _unspeakable(row, f"line {number}")
        reader = _Line(re.sub("--+", "—", row.translate(_SIGNS)), speech)
        if not reader.syllables and not faults:
            faults.append(Fault(place=f"line {number}", problem="has no word to sing"))
        lines.append(tuple(reader.syllables))
        guessed |= {guess.word: guess for guess in reader.guessed}
    if not lines:
        faults.append(Fault(place="words", problem="there is nothing to sing"))
    if faults:
        raise InputProblems(faults)
    return WordsRead(words=Words(lines=tuple(lines)), guessed=tuple(guessed.values()))


def _unspeakable(row: str, place: str) -> list[Fault]:
    left = _WORD.sub("", row)
    strange = sorted(set(left) - _SPEAKABLE)
    found = []
    if any(sign.isdigit() for sign in strange):
        remedy = "write numbers as words: twenty-one"
        found.append(Fault(place=place, problem="has figures in it", remedy=remedy))
    others = [sign for sign in strange if not sign.isdigit()]
    if others:
        problem = f"has {' '.join(map(repr, others))}, which cannot be sung"
        remedy = "leave it out, or write it as a word: and for &"
        if set(others) <= {"^", "_"}:
            remedy = "a mark (^ stressed, _ unstressed) stands right before its syllable"
        found.append(Fault(place=place, problem=problem, remedy=remedy))
    return found


class _Line:
    """The syllables of one line, each with the signs that cling to it."""

    def __init__(self, row: str, speech: Speech) -> None:
        self._speech = speech
        self.syllables: list[Syllable] = []
        self.guessed: list[Guess] = []
        at = 0
        before = ""
        for match in _WORD.finditer(row):
            before += self._between(row[at : match.start()])
            sung = self._word(match[0])
            first = replace(sung[0], text=before + sung[0].text)
            self.syllables += [first, *sung[1:]]
            before, at = "", match.end()
        self._between(row[at:])

    def _between(self, signs: str) -> str:
        """Give signs to the syllable before them, return those that open what comes."""
        closing, space, opening = signs.partition(" ")
        opening = opening.strip() if space else ""
        if self.syllables and closing.strip():
            last = self.syllables[-1]
            pause = last.pause or bool(_PAUSES & set(signs))
            self.syllables[-1] = replace(last, text=last.text + closing.strip(), pause=pause)
        elif self.syllables and _PAUSES & set(signs):
            self.syllables[-1] = replace(self.syllables[-1], pause=True)
        return ("" if self.syllables else closing.strip(_DASHES)) + opening.strip(_DASHES)

    def _word(self, marked: str) -> list[Syllable]:
        plain = marked.replace("^", "").replace("_", "")
        pieces = plain.split("-")
        whole = "".join(pieces)
        if len(pieces) > 1 and not self._known(whole) and all(map(self._known, pieces)):
            return self._compound(marked.split("-"), plain)
        stress = self._stress(plain, len(pieces) if len(pieces) > 1 else 0)
        if len(pieces) == 1:
            cut = divide(plain, len(stress), self._speech.breaks(plain))
            if cut is None:  # more syllables are spoken than can be told apart in writing
                self.guessed.append(Guess(word=plain, read_as=f"^{plain}"))
                cut, stress = (plain,), (Stress.FULL,)
            pieces = list(cut)
            marked = "-".join(pieces) if "^" not in marked and "_" not in marked else marked
        return _syllables(pieces, _as_marked(marked, stress), plain.replace("-", ""))

    def _known(self, word: str) -> bool:
        return bool(self._speech.stresses(word.lower()))

    def _compound(self, marked: list[str], plain: str) -> list[Syllable]:
        """Words joined by hyphens: each for itself, the first stress before the others."""
        found = [self._word(each) for each in marked]
        for number, word in enumerate(found):
            if number and marked[number][:1] not in "^_":
                found[number] = [replace(s, stress=min(s.stress, Stress.HALF)) for s in word]
            if number + 1 < len(found):
                found[number][-1] = replace(found[number][-1], goes_on=True)
        return [replace(s, word=plain) for word in found for s in word]

    def _stress(self, word: str, pieces: int) -> tuple[Stress, ...]:
        """The stress of each syllable of a word; `pieces` is how many its author gave it, or 0."""
        lower = word.replace("-", "").lower()
        if lower in _EITHER | _LIGHT and pieces in (0, 1):
            count = max(len(each) for each in self._speech.stresses(lower) or [(0,)])
            if lower in _EITHER:
                return (Stress.HALF,)
            if count == 1 or lower.count("'"):
                return (Stress.NONE,)
        ways = self._speech.stresses(lower)
        breaks = len(self._speech.breaks(lower)) + 1
        if pieces:
            ways = tuple(way for way in ways if len(way) == pieces)
        elif any(len(way) == breaks for way in ways):
            ways = tuple(way for way in ways if len(way) == breaks)
        if ways:
            found = min(ways, key=len)
            return (Stress.FULL,) if len(found) == 1 else found
        return self._guess(word, lower, pieces)

    def _guess(self, word: str, lower: str, pieces: int) -> tuple[Stress, ...]:
        count = pieces or spoken_vowels(lower)
        cut = word.split("-") if pieces else divide(word, count, self._speech.breaks(lower))
        shown = tuple(cut or (word,))
        stressed = guess_stress(shown)
        read_as = "-".join(f"^{p}" if n == stressed else p for n, p in enumerate(shown))
        self.guessed.append(Guess(word=word, read_as=read_as))
        return tuple(Stress.FULL if n == stressed else Stress.NONE for n in range(len(shown)))


def _as_marked(marked: str, stress: Sequence[Stress]) -> tuple[Stress, ...]:
    """The stress of each syllable where its author marked some."""
    if "^" not in marked and "_" not in marked:
        return tuple(stress)
    found = list(stress)
    pieces = marked.split("-")
    if "^" in marked:
        found = [Stress.NONE] * len(found)
    for number, piece in enumerate(pieces[: len(found)]):
        if piece.startswith("^"):
            found[number] = Stress.FULL
        elif piece.startswith("_"):
            found[number] = Stress.NONE
    return tuple(found)


def _syllables(pieces: Sequence[str], stress: Sequence[Stress], word: str) -> list[Syllable]:
    last = len(pieces) - 1
    return [
        Syllable(text=piece, stress=stress[n], word=word, goes_on=n < last)
        for n, piece in enumerate(pieces)
    ]
