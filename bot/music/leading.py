"""Going from tone to tone by step: how high tones lie, and where altered ones lead."""

from __future__ import annotations

from bot.music.exercise import Tone

_DEGREES = 7
_SEMITONES = (0, 2, 4, 5, 7, 9, 11)
_WHOLE_STEP = 2  # semitones


def height(tone: Tone) -> int:
    """Semitones above do.

    >>> height(Tone(step=-3)), height(Tone(step=3, alter=1))
    (-5, 6)
    """
    octave, degree = divmod(tone.step, _DEGREES)
    return 12 * octave + _SEMITONES[degree] + tone.alter


def by_step(here: Tone, there: Tone) -> bool:
    """Whether a line may step from one tone to the other: a half or a whole step.

    A raised tone leads up and a lowered one down: fi to so, si to la, te to la.

    >>> fi, so, mi = Tone(step=3, alter=1), Tone(step=4), Tone(step=2)
    >>> by_step(mi, fi), by_step(fi, so), by_step(fi, mi)
    (True, True, False)
    """
    move = there.step - here.step
    if abs(move) != 1 or abs(height(there) - height(here)) > _WHOLE_STEP:
        return False
    return here.alter == 0 or move * here.alter > 0
