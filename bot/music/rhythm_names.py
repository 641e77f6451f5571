"""Rhythm syllables: what a choir says for each note, in the six ways that are published.

Two name how long a note lasts (older Hungarian and American usage), four where in the beat it
begins. The table is that of `trade.md` section 2.3, where each way has its source; what it leaves
open (sixths of a beat in counting) stays empty here rather than being guessed.
"""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum
from fractions import Fraction
from types import MappingProxyType
from typing import assert_never

from bot.music.exercise import Exercise
from bot.music.rhythm import EIGHTH, QUARTER, SIXTEENTH, Metre


class RhythmNames(StrEnum):
    """The ways, each by the words it has for a beat and its parts."""

    TIRI = "ta-tiri"  # by length, older Hungarian
    TIKA = "ta-tika"  # by length, American
    TA_DI = "ta-ka-di-mi"  # by place in the beat
    DU_DE = "du-de"  # by place in the beat
    ONE_AND = "1-e-and-a"  # counting
    ONE_TE = "1-ti-te-ta"  # counting


_Part = Fraction  # of a beat
_HALF, _FIRST, _LAST = _Part(1, 2), _Part(1, 4), _Part(3, 4)
_SIXTHS = tuple(_Part(n, 6) for n in range(6))

# By length: values that have a word of their own; longer ones are held beat by beat.
_LENGTHS: Mapping[RhythmNames, Mapping[Fraction, str]] = MappingProxyType(
    {
        RhythmNames.TIRI: MappingProxyType(
            {3 * EIGHTH: "tai", EIGHTH: "ti", 3 * SIXTEENTH: "teem"}
        ),
        RhythmNames.TIKA: MappingProxyType({3 * EIGHTH: "tam", EIGHTH: "ti", 3 * SIXTEENTH: "tim"}),
    }
)
_SECOND_SIXTEENTH = {RhythmNames.TIRI: "ri", RhythmNames.TIKA: "ka"}

# By place: words for parts of a beat after its beginning; a beat itself is `_BEAT` or its number.
_BEAT = {RhythmNames.TA_DI: "ta", RhythmNames.DU_DE: "du"}
_SIMPLE = {
    RhythmNames.TA_DI: {_FIRST: "ka", _HALF: "di", _LAST: "mi"},
    RhythmNames.DU_DE: {_FIRST: "ta", _HALF: "de", _LAST: "ta"},
    RhythmNames.ONE_AND: {_FIRST: "e", _HALF: "&", _LAST: "a"},
    RhythmNames.ONE_TE: {_FIRST: "ti", _HALF: "te", _LAST: "ta"},
}
_COMPOUND = {
    RhythmNames.TA_DI: dict(zip(_SIXTHS[1:], ("va", "ki", "di", "da", "ma"), strict=True)),
    RhythmNames.DU_DE: dict(zip(_SIXTHS[1:], ("ta", "da", "ta", "di", "ta"), strict=True)),
    RhythmNames.ONE_AND: {_Part(1, 3): "&", _Part(2, 3): "a"},
    RhythmNames.ONE_TE: dict(zip(_SIXTHS[1:], ("ta", "la", "ta", "li", "ta"), strict=True)),
}


def rhythm_words(exercise: Exercise, names: RhythmNames, part: int = 0) -> tuple[str, ...]:
    """A word for each note that is struck, in order; notes tied to the one before have none.

    Empty where the way has no word for a place.
    """
    metre = exercise.metre
    lead = metre.measure - exercise.pickup if exercise.pickup else Fraction(0)
    return tuple(
        _word((offset + lead) % metre.measure, duration, metre, names)
        for offset, duration in struck(exercise, part)
    )


def beat_figures(exercise: Exercise, part: int = 0) -> tuple[str, ...]:
    """For each struck note the beats on which it lies, those that it is held through in brackets.

    >>> from bot.music.exercise import Note, Part, Tone
    >>> from bot.music.pitch import Key
    >>> lengths = (3 * EIGHTH, EIGHTH, 2 * QUARTER)
    >>> notes = tuple(Note(duration=length, tone=Tone(step=0)) for length in lengths)
    >>> beat_figures(Exercise(key=Key(fifths=0), metre=Metre(), parts=(Part(notes=notes),)))
    ('1 (2)', '', '3 (4)')
    """
    metre = exercise.metre
    lead = metre.measure - exercise.pickup if exercise.pickup else Fraction(0)
    return tuple(
        _figures((offset + lead) % metre.measure, duration, metre)
        for offset, duration in struck(exercise, part)
    )


def struck(exercise: Exercise, part: int = 0) -> list[tuple[Fraction, Fraction]]:
    """Offset and whole length of each note that is struck, what is tied to it counted in."""
    found: list[tuple[Fraction, Fraction]] = []
    held = False
    for offset, note in exercise.parts[part].timed():
        if note.tone is not None and held:
            found[-1] = (found[-1][0], found[-1][1] + note.duration)
        elif note.tone is not None:
            found.append((offset, note.duration))
        held = note.tied
    return found


def _word(inside: Fraction, duration: Fraction, metre: Metre, names: RhythmNames) -> str:
    match names:
        case RhythmNames.TIRI | RhythmNames.TIKA:
            return _by_length(inside, duration, names)
        case RhythmNames.TA_DI | RhythmNames.DU_DE:
            return _by_place(inside, metre, names) or _BEAT[names]
        case RhythmNames.ONE_AND:
            return _counted(inside, duration, metre, names, held=True)
        case RhythmNames.ONE_TE:
            # A note that ends on a beat has no held figure there: `1` for a half note.
            held = bool((inside + duration) % metre.pulse)
            return _counted(inside, duration, metre, names, held=held)
    assert_never(names)


def _by_length(inside: Fraction, duration: Fraction, names: RhythmNames) -> str:
    if duration == SIXTEENTH:
        return "ti" if inside % EIGHTH == 0 else _SECOND_SIXTEENTH[names]
    if duration in _LENGTHS[names]:
        return _LENGTHS[names][duration]
    quarters = max(int(duration / QUARTER), 1)
    return "ta" + "-a" * (quarters - 1)


def _by_place(inside: Fraction, metre: Metre, names: RhythmNames) -> str:
    """The word for a part of a beat; empty on the beat, and where the way has none."""
    words = _COMPOUND[names] if metre.compound else _SIMPLE[names]
    return words.get(inside % metre.pulse / metre.pulse, "")


def _counted(
    inside: Fraction, duration: Fraction, metre: Metre, names: RhythmNames, *, held: bool
) -> str:
    if inside % metre.pulse == 0:
        first = str(int(inside / metre.pulse) + 1)
    else:
        first = _by_place(inside, metre, names)
    return " ".join([first, *(_held(inside, duration, metre) if held else ())]).strip()


def _figures(inside: Fraction, duration: Fraction, metre: Metre) -> str:
    first = [str(int(inside / metre.pulse) + 1)] if inside % metre.pulse == 0 else []
    return " ".join([*first, *_held(inside, duration, metre)])


def _held(inside: Fraction, duration: Fraction, metre: Metre) -> list[str]:
    """Figures in brackets of the beats that fall within a note."""
    first = int(inside / metre.pulse) + 1
    beats = []
    while first * metre.pulse < inside + duration:
        beats.append(f"({first % metre.pulses + 1})")
        first += 1
    return beats
