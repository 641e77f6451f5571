"""Tones as words with their octave, as a sequence file writes them: `so,` is low, `do'` is high."""

from __future__ import annotations

import re

from bot.music.exercise import Tone

_DEGREES = ("do", "re", "mi", "fa", "so", "la", "ti")
_RAISED = ("di", "ri", "", "fi", "si", "li", "")
_LOWERED = ("", "ra", "me", "", "se", "le", "te")
_WORD = re.compile(r"([a-z]{2})('*|,*)")
_TONES = {
    word: Tone(step=step, alter=alter)
    for alter, words in ((0, _DEGREES), (1, _RAISED), (-1, _LOWERED))
    for step, word in enumerate(words)
    if word
}


def tone_of(word: str) -> Tone:
    """Read `fa`, `so,` (the one below do), `do'` or `fi`; ValueError otherwise.

    >>> tone_of("so,")
    Tone(step=-3, alter=0)
    """
    match = _WORD.fullmatch(word)
    if match is None or match[1] not in _TONES:
        raise ValueError(f"{word!r} is no tone: write for example do, so, (low) or do' (high)")
    octaves = match[2].count("'") - match[2].count(",")
    tone = _TONES[match[1]]
    return Tone(step=tone.step + 7 * octaves, alter=tone.alter)


def spoken(tone: Tone) -> str:
    """A tone as it is said: `low so`, `high do`.

    >>> spoken(Tone(step=-3)), spoken(Tone(step=2))
    ('low so', 'mi')
    """
    word = word_of(tone)
    name = word.rstrip("',")
    return {",": "low ", "'": "high "}.get(word[len(name) :][:1], "") + name


def word_of(tone: Tone) -> str:
    """The word that `tone_of` reads back; ValueError where the degree has no such syllable.

    >>> word_of(Tone(step=7)), word_of(Tone(step=3, alter=1)), word_of(Tone(step=-1))
    ("do'", 'fi', 'ti,')
    """
    octave, degree = divmod(tone.step, 7)
    words = {0: _DEGREES, 1: _RAISED, -1: _LOWERED}.get(tone.alter)
    if words is None or not words[degree]:
        raise ValueError(f"step {tone.step} altered by {tone.alter} has no syllable")
    return words[degree] + ("'" * octave if octave > 0 else "," * -octave)
