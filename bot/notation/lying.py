"""Where do lies for a line, so that its scale steps read as 0 to 7 where that is possible."""

from __future__ import annotations

from collections.abc import Sequence

from bot.music.pitch import Key, Mode, Pitch

_LOWEST, _HIGHEST = -4, 8  # low fa to high re: what a line may reach without moving its do


def do_octave(pitches: Sequence[Pitch], key: Key) -> int:
    """Return the octave of the do that a line is sung from; `pitches` holds at least one.

    The line shall lie between low fa and high re; of two such octaves, the one in which the last
    note is do itself, or in minor the la below it; else the one whose middle lies nearest to mi.
    """
    home = 0 if key.mode is Mode.MAJOR else -2
    octaves = range(min(p.octave for p in pitches) - 2, max(p.octave for p in pitches) + 2)

    def cost(octave: int) -> tuple[int, bool, float]:
        steps = [key.step_of(pitch, octave)[0] for pitch in pitches]
        outside = sum(max(_LOWEST - step, step - _HIGHEST, 0) for step in steps)
        middle = (min(steps) + max(steps)) / 2
        return outside, steps[-1] != home, abs(middle - 2)

    return min(octaves, key=cost)
