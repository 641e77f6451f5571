"""A part with words in music braille: a line of words, below it the line of its music.

After the Music Braille Code of the Braille Authority of North America (2015, section 35): words
begin at the margin and music two cells in; print's hyphens between syllables are left out; there
are no numbers of measures. The words are in uncontracted braille, a letter a cell, as `literary`
writes them. Two or three words on one note are counted behind it (New International Manual 1996,
16-8).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from bot.music.exercise import Exercise
from bot.notation.braille_line import MusicLines, accidentals_of
from bot.notation.braille_sign import END, literary
from bot.notation.verse import words_under
from bot.notation.written import WrittenMeasure, written_measures

_FIRST, _OVER = " ", "    "  # a first line of music begins in cell 3, its next ones in cell 5
_ON_ONE_NOTE = "\N{THIN SPACE}"
_MERGED = {2: "B", 3: "L"}  # behind a note that so many words share
_OPEN, _CLOSE = "8", "0"  # around them in the line of words


def vocal_lines(exercise: Exercise, part: int, cells: int, most: int) -> list[str]:
    """The lines of a part: pairs of at most `most` measures, 0 for as many as have room.

    A pair ends where a word does, if it can; a word that goes on in the next has a hyphen.
    """
    measures = written_measures(exercise, part)
    notes = [note.offset for measure in measures for note in measure.notes]
    texts = dict(zip(notes, words_under(exercise, part, measures), strict=True))
    pairs = _Pairs(exercise=exercise, part=part, cells=cells, measures=measures, texts=texts)
    lines: list[str] = []
    begin = 0
    while begin < len(measures):
        end = pairs.end_of(begin, most or len(measures))
        lines += [*_broken(pairs.words(begin, end), cells), *pairs.music(begin, end)]
        begin = end
    return lines


@dataclass(frozen=True, slots=True, kw_only=True)
class _Pairs:
    """Lines of words and music of any run of measures; `texts` by the offset of their note."""

    exercise: Exercise
    part: int
    cells: int
    measures: Sequence[WrittenMeasure]
    texts: Mapping[Fraction, str]

    def end_of(self, begin: int, most: int) -> int:
        """The index behind the last measure of the pair that begins with measure `begin`."""
        pickup = self.measures[begin].number == 0
        last = min(begin + most + pickup, len(self.measures))
        fit = [end for end in range(begin + 1, last + 1) if self._fits(begin, end)]
        whole = [end for end in fit if not _goes_on(self._syllables(begin, end)[-1])]
        return (whole or fit or [begin + 1])[-1]

    def _fits(self, begin: int, end: int) -> bool:
        music = self.music(begin, end)
        return len(music) == 1 and len(self.words(begin, end)) <= self.cells

    def words(self, begin: int, end: int) -> str:
        """What is sung in these measures, in braille."""
        spelled = "".join(
            text[:-1] if _goes_on(text) else f"{text} " for text in self._syllables(begin, end)
        )
        words = " ".join(_in_braille(word) for word in spelled.split(" ") if word)
        return words + ("-" if _goes_on(self._syllables(begin, end)[-1]) else "")

    def _syllables(self, begin: int, end: int) -> list[str]:
        inside = [note.offset for measure in self.measures[begin:end] for note in measure.notes]
        return [self.texts[offset] for offset in inside if self.texts[offset]] or [""]

    def music(self, begin: int, end: int) -> list[str]:
        """The music of these measures: one line if it has room there, else several."""
        writer = MusicLines(
            exercise=self.exercise,
            part=self.part,
            cells=self.cells,
            accidentals=accidentals_of(self.exercise, self.part),
            text=[_FIRST],
            indent=_OVER,
            after=_merged(self.texts),
        )
        for measure in self.measures[begin:end]:
            writer.add([measure], END if measure is self.measures[-1] else "")
        return [line for line in writer.text if line.strip()]


def _goes_on(text: str) -> bool:
    return len(text) > 1 and text.endswith("-")


def _merged(texts: Mapping[Fraction, str]) -> Mapping[Fraction, str]:
    counts = {offset: text.count(_ON_ONE_NOTE) + 1 for offset, text in texts.items() if text}
    return {offset: _MERGED[count] for offset, count in counts.items() if count in _MERGED}


def _in_braille(word: str) -> str:
    """A word, or words that share a note, between the signs that say so."""
    if _ON_ONE_NOTE not in word:
        return literary(word)
    return f"{_OPEN}{literary(word.replace(_ON_ONE_NOTE, ' '))}{_CLOSE}"


def _broken(words: str, cells: int) -> list[str]:
    """A line of words, on several lines where one is too short."""
    rows: list[str] = []
    for word in words.split():
        if rows and len(rows[-1]) + 1 + len(word) <= cells:
            rows[-1] += f" {word}"
        else:
            rows.append((_OVER if rows else "") + word[: cells - len(_OVER)])
    return rows
