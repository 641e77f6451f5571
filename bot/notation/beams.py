"""Beams by the felt beat, so that a young reader sees every beat begin.

music21's own beaming joins whole halves of a measure and, in 6/8, turns the short beam after a
dotted eighth the wrong way.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from itertools import groupby

from music21 import note

from bot.music.rhythm import EIGHTH, Metre
from bot.notation.written import WrittenMeasure, WrittenNote

_FLAGS = {"eighth": 1, "16th": 2, "32nd": 3}


def beam(measure: WrittenMeasure, elements: Sequence[note.Note | note.Rest], metre: Metre) -> None:
    """Set the beams of a measure's elements, which stand in the order of its written notes."""
    lead = metre.measure - measure.length if measure.number == 0 else Fraction(0)
    group = _group(metre)

    def beat(index: int) -> tuple[Fraction, int]:
        """Name the beat of a beamable note; every other sign stands in a beat of its own."""
        written = measure.notes[index]
        place = (written.offset - measure.offset + lead) // group
        return Fraction(place), 0 if _flags(written) else index + 1

    for _, indices in groupby(range(len(elements)), key=beat):
        run = list(indices)
        if len(run) > 1:
            _beam_run([elements[i] for i in run], [_flags(measure.notes[i]) for i in run])


def _group(metre: Metre) -> Fraction:
    """Length that one beam may cover: the felt beat, or all of 3/8."""
    return metre.measure if metre.pulse == EIGHTH else metre.pulse


def _flags(written: WrittenNote) -> int:
    if written.tone is None or written.value is None:
        return 0
    return _FLAGS.get(written.value.base, 0)


def _beam_run(run: list[note.Note | note.Rest], flags: list[int]) -> None:
    for index, element in enumerate(run):
        before = flags[index - 1] if index else 0
        after = flags[index + 1] if index + 1 < len(run) else 0
        assert isinstance(element, note.Note)
        for level in range(1, flags[index] + 1):
            match before >= level, after >= level:
                case True, True:
                    element.beams.append("continue")
                case True, False:
                    element.beams.append("stop")
                case False, True:
                    element.beams.append("start")
                case False, False:
                    element.beams.append("partial", "right" if index == 0 else "left")
