"""An exercise as tonic sol-fa letters, which `tonicsolfa.py` reads back."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from fractions import Fraction

from bot.errors import Refused
from bot.music.exercise import Exercise
from bot.music.letter_words import NOTE, with_words
from bot.music.letters import SLOTS, Dialect, name_of, pulse_text
from bot.music.pitch import Mode
from bot.music.span import Span, spans_of
from bot.music.tonicsolfa import ACCENTS

_MEASURES_IN_LINE = 4


def exercise_to_tonicsolfa(exercise: Exercise, *, dialect: Dialect = Dialect.MODERN) -> str:
    """Write an exercise, every part under its own KEY, words under their letters.

    Letters do not say what a pulse is worth: 2/2 and 2/4 look alike. Refused names the first place
    that they cannot hold: a length that is not in quarters of a pulse, a tone without a name, a
    metre of other than 2, 3, 4 or 6 pulses, a pickup that begins in the first pulse of its measure,
    a short last measure that no pickup makes up for.
    """
    metre = exercise.metre
    if metre.beats not in ACCENTS:
        raise Refused("formats.letters.metre", metre=metre)
    if exercise.pickup > metre.measure - Fraction(1, metre.unit):
        raise Refused("formats.letters.pickup", metre=metre)
    rest = (exercise.length - exercise.pickup) % metre.measure
    if rest and rest + exercise.pickup != metre.measure:
        raise Refused("formats.letters.last", measure=exercise.measures)
    parts = (_part(exercise, index, dialect) for index in range(len(exercise.parts)))
    return "\n".join(parts)


def _part(exercise: Exercise, index: int, dialect: Dialect) -> str:
    key, metre = exercise.key, exercise.metre
    octave = exercise.parts[index].do_octave
    heading = f"KEY {key.do.plain}{'' if octave == 4 else octave}."
    if key.mode is Mode.MINOR:
        heading += f" LAH is {key.tonic.plain}."
    pulses = _pulses(exercise, index, dialect)
    pickup = -int(-exercise.pickup * metre.unit // 1)
    marks = [ACCENTS[metre.beats][(n - pickup) % metre.beats] for n in range(len(pulses))]
    lines = [""]
    for number, (mark, pulse) in enumerate(zip(marks, pulses, strict=True)):
        measure = (number - pickup) // metre.beats
        if mark == "|" and measure and measure % _MEASURES_IN_LINE == 0:
            lines.append(mark + pulse)
        else:
            lines[-1] += f" {mark}{pulse}"
    return "\n".join([*_worded(exercise, index, heading, lines), ""])


def _worded(exercise: Exercise, index: int, heading: str, lines: list[str]) -> Iterator[str]:
    """Yield the lines of a part, the first behind its heading, each with its words below."""
    words = exercise.parts[index].words
    begin = 0
    for number, letters in enumerate(lines):
        before = heading + " " if number == 0 else ""
        end = begin + len(re.findall(NOTE, letters)) if words else begin
        drawn, texts = with_words(letters, words[begin:end]) if words else (letters, "")
        yield before + drawn + (" ||" if number == len(lines) - 1 else "")
        if texts:
            yield " " * len(before) + texts
        begin = end


def _pulses(exercise: Exercise, index: int, dialect: Dialect) -> list[str]:
    """Return the text of every pulse, the first filled up with silence where a pickup is shorter.

    So is the last, where it makes up for such a pickup.
    """
    slot = Fraction(1, exercise.metre.unit * SLOTS)
    lead = -exercise.pickup % (slot * SLOTS)
    slots = -int(-(exercise.length + lead) // (slot * SLOTS)) * SLOTS
    cells = {0: ""} | dict.fromkeys(range(0, slots, SLOTS), "")
    for span in spans_of(exercise.parts[index]):
        begin, end = (_slot(exercise, time, slot, lead) for time in (span.onset, span.end))
        cells |= dict.fromkeys(range(-(-begin // SLOTS) * SLOTS, end, SLOTS), "-")
        cells[begin] = _name(exercise, span, dialect)
        cells[end] = ""
    return [_pulse(cells, begin) for begin in range(0, slots, SLOTS)]


def _pulse(cells: dict[int, str], begin: int) -> str:
    inside: Sequence[int] = [slot for slot in range(begin, begin + SLOTS) if slot in cells]
    return pulse_text({slot - begin: cells[slot] for slot in inside})


def _slot(exercise: Exercise, time: Fraction, slot: Fraction, lead: Fraction) -> int:
    if (time + lead) % slot:
        measure, beat = exercise.place(time)
        raise Refused("formats.letters.length", measure=measure, beat=beat)
    return int((time + lead) / slot)


def _name(exercise: Exercise, span: Span, dialect: Dialect) -> str:
    name = name_of(span.tone, dialect, minor=exercise.key.mode is Mode.MINOR)
    if name is None:
        measure, beat = exercise.place(span.onset)
        raise Refused("formats.letters.tone", measure=measure, beat=beat)
    return name
