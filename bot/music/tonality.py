"""Giving the key: which tones are sounded before a reading, and in which order."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from bot.music.exercise import Tone
from bot.music.pitch import Mode


class KeyPattern(StrEnum):
    """How the key is given (published forms in trade.md section 5)."""

    TRIAD = "triad"  # do mi so mi do; la do mi do la in minor
    CHORD = "chord"  # the tonic chord at once
    SCALE = "scale"  # up and down an octave
    DO = "do"  # the tonic alone


@dataclass(frozen=True, slots=True, kw_only=True)
class Sounded:
    """Tones sounded together for a number of pulses."""

    tones: tuple[Tone, ...]
    pulses: int = 1


def key_giving(pattern: KeyPattern, mode: Mode) -> tuple[Sounded, ...]:
    """Tones that give the key, counted from the tonic that lies lowest in the line's octave.

    In minor the tonic is la (step 5 of the octave below, so la do mi lie around do).

    >>> [s.tones[0].step for s in key_giving(KeyPattern.TRIAD, Mode.MAJOR)]
    [0, 2, 4, 2, 0]
    >>> [s.tones[0].step for s in key_giving(KeyPattern.TRIAD, Mode.MINOR)]
    [-2, 0, 2, 0, -2]
    """
    tonic = 0 if mode is Mode.MAJOR else -2
    triad = (tonic, tonic + 2, tonic + 4)
    if pattern is KeyPattern.CHORD:
        return (Sounded(tones=tuple(Tone(step=s) for s in triad), pulses=3),)
    if pattern is KeyPattern.DO:
        return (Sounded(tones=(Tone(step=tonic),), pulses=3),)
    if pattern is KeyPattern.SCALE:
        steps = [*range(tonic, tonic + 8), *range(tonic + 6, tonic - 1, -1)]
    else:
        steps = [*triad, *reversed(triad[:-1])]
    last = len(steps) - 1
    return tuple(
        Sounded(tones=(Tone(step=step),), pulses=2 if index == last else 1)
        for index, step in enumerate(steps)
    )
