"""What a choir has read, sorted by rhythm so that a draw looks only at what might come again."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction

from bot.music.exercise import Exercise, Tone
from bot.music.pitch import Mode
from bot.music.rhythm import Metre
from bot.music.written import Rhythm, sounding

_Frame = tuple[Metre, Fraction, Rhythm]


class Seen:
    """Exercises by metre and rhythm; those that no line here can equal are left out.

    A line here has one part in this mode and no tone but `tones`.
    """

    def __init__(
        self, exercises: Iterable[Exercise], tones: tuple[Tone, ...], mode: Mode = Mode.MAJOR
    ) -> None:
        number = {tone: place for place, tone in enumerate(tones)}
        self._lines: dict[_Frame, dict[tuple[int, ...], None]] = {}
        for exercise in exercises:
            part = exercise.parts[0]
            sung = part.tones()
            if (
                len(exercise.parts) > 1
                or exercise.key.mode is not mode
                or any(tone not in number for tone in sung)
            ):
                continue
            frame = (exercise.metre, exercise.pickup, sounding(part))
            self._lines.setdefault(frame, {})[tuple(number[tone] for tone in sung)] = None

    def __bool__(self) -> bool:
        return bool(self._lines)

    def tones(
        self, metre: Metre, rhythm: Rhythm, pickup: Fraction = Fraction(0)
    ) -> Iterable[tuple[int, ...]]:
        """The lines read over a rhythm, each once, as places in the list of tones."""
        return self._lines.get((metre, pickup, rhythm), ())
