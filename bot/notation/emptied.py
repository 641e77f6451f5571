"""A picture in which some measures stand empty: hidden ones, to be sung from memory."""

from __future__ import annotations

import re
from collections.abc import Collection

from bot.music.exercise import Exercise
from bot.notation.written import written_measures

_SIGN = re.compile(r'<g data-part="(\d+)" data-note="(\d+)"[^>]*>.*?</g>', re.DOTALL)


def emptied(picture: str, exercise: Exercise, measures: Collection[int]) -> str:
    """The engraving of an exercise without the rests that fill these measures, counted from 1."""
    gone = {
        (part, number)
        for part in range(len(exercise.parts))
        for number, measure in enumerate(
            measure for measure in written_measures(exercise, part) for _ in measure.notes
        )
        if measure.number in measures
    }

    def kept(sign: re.Match[str]) -> str:
        return "" if (int(sign[1]), int(sign[2])) in gone else sign[0]

    return _SIGN.sub(kept, picture)
