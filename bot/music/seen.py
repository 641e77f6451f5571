"""What a choir has read, sorted by rhythm so that a draw looks only at what might come again."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction

from bot.music.exercise import Exercise, Tone
from bot.music.patterns import TICKS, Pattern
from bot.music.pitch import Mode
from bot.music.rhythm import Metre

Rhythm = tuple[tuple[Fraction, bool], ...]  # durations in whole notes, whether each is a rest
_LENGTHS = {ticks: Fraction(ticks, TICKS) for ticks in range(1, 2 * TICKS + 1)}


def rhythm_of(measures: Sequence[Pattern]) -> Rhythm:
    """The notes and rests of measures end to end."""
    return tuple(
        (_LENGTHS[each.ticks], each.rest) for measure in measures for each in measure.struck
    )


class Seen:
    """Exercises by metre and rhythm; those that no line here can equal are left out.

    A line here has one part in this mode, no pickup, no tie and no tone but `tones`.
    """

    def __init__(
        self, exercises: Iterable[Exercise], tones: tuple[Tone, ...], mode: Mode = Mode.MAJOR
    ) -> None:
        number = {tone: place for place, tone in enumerate(tones)}
        self._lines: dict[tuple[Metre, Rhythm], dict[tuple[int, ...], None]] = {}
        for exercise in exercises:
            notes = exercise.parts[0].notes
            if (
                len(exercise.parts) > 1
                or exercise.pickup
                or exercise.key.mode is not mode
                or any(note.tied or (note.tone and note.tone not in number) for note in notes)
            ):
                continue
            rhythm = tuple((note.duration, note.tone is None) for note in notes)
            line = tuple(number[note.tone] for note in notes if note.tone)
            self._lines.setdefault((exercise.metre, rhythm), {})[line] = None

    def tones(self, metre: Metre, rhythm: Rhythm) -> Iterable[tuple[int, ...]]:
        """The lines read over a rhythm, each once, as places in the list of tones."""
        return self._lines.get((metre, rhythm), ())
