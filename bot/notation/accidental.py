"""Which notes carry an accidental on the page; print and braille show the same."""

from __future__ import annotations

from collections.abc import Iterator

from bot.music.exercise import Exercise
from bot.music.pitch import LETTERS
from bot.notation.written import WrittenMeasure


def printed_accidentals(
    exercise: Exercise, part: int, measures: tuple[WrittenMeasure, ...]
) -> Iterator[bool]:
    """Yield, for every written sign, whether an accidental is printed before it.

    Printed where the pitch differs from what the staff says at that place, and once more as a
    reminder where the measure before said something else.
    """
    scale = [exercise.key.pitch(step, 0, 4) for step in range(len(LETTERS))]
    usual = {degree.letter: degree.alter for degree in scale}
    before: dict[int, int] = {}
    for measure in measures:
        here: dict[int, int] = {}
        for written in measure.notes:
            if written.tone is None:
                yield False
                continue
            sung = exercise.pitch(written.tone, part)
            line, said = sung.staff_step, usual[sung.letter]
            reminder = line not in here and before.get(line, said) != sung.alter
            yield not written.held and (here.get(line, said) != sung.alter or reminder)
            if not written.held:
                here[line] = sung.alter
        before = here
