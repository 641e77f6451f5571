"""A ground that several lines share: a metre, a length, and a chord for each half of a measure.

Whatever is composed over one ground has a tone of its chord wherever a strong beat or a long note
is, so that lines over it can sound together. Chords are I, IV and V, as far as the tones of a step
spell them; the line's end is on I, the middle of eight measures on V.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from random import Random

from bot.music.exercise import Tone
from bot.music.patterns import PHRASE, ticks
from bot.music.pitch import Mode
from bot.music.rhythm import Metre

_I, _IV, _V = 0, 3, 4
_NAMES = {_I: "I", _IV: "IV", _V: "V"}
_DEGREES = 7
# Four measures, each of one chord or of two; the last closes. The first phrase of eight stops on V.
_CLOSING: tuple[tuple[tuple[int, ...], ...], ...] = (
    ((_I,), (_I,), (_V,), (_I,)),
    ((_I,), (_V,), (_V,), (_I,)),
    ((_I,), (_V,), (_I, _V), (_I,)),
    ((_I,), (_IV,), (_V,), (_I,)),
    ((_I,), (_IV,), (_I, _V), (_I,)),
    ((_I,), (_I, _IV), (_V,), (_I,)),
)
_OPENING: tuple[tuple[tuple[int, ...], ...], ...] = (
    ((_I,), (_V,), (_I,), (_V,)),
    ((_I,), (_I,), (_I,), (_V,)),
    ((_I,), (_IV,), (_I,), (_V,)),
    ((_I,), (_IV,), (_V,), (_V,)),
    ((_I,), (_V,), (_I, _IV), (_V,)),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class SharedGround:
    """`chords` has the roots of each measure: one for all of it, or one for each half.

    A root is a degree above the tonic: I is 0, IV is 3, V is 4.
    """

    metre: Metre
    chords: tuple[tuple[int, ...], ...]

    @property
    def measures(self) -> int:
        """Number of measures."""
        return len(self.chords)

    def root(self, measure: int, offset: Fraction) -> int:
        """The root at an offset (in whole notes) of a measure from 0."""
        row = self.chords[measure]
        return row[0] if len(row) == 1 or offset * 2 < self.metre.measure else row[1]

    def degrees(self, extra: int = 0) -> dict[tuple[int, int], int]:
        """(measure, ticks in it) -> the degrees of its chord, a bit for each, and an extra bit."""
        length = ticks(self.metre.measure)
        return {
            (measure, at): extra
            | chord_bits(row[0] if len(row) == 1 or at * 2 < length else row[1])
            for measure, row in enumerate(self.chords)
            for at in range(length)
        }

    def text(self) -> str:
        """The chords as musicians write them: `I | IV | I V | I`."""
        return " | ".join(" ".join(_NAMES[root] for root in row) for row in self.chords)


def chord_bits(root: int) -> int:
    """The degrees of a triad, a bit for each."""
    return sum(1 << (root + third) % _DEGREES for third in (0, 2, 4))


def shared_ground(
    tones: Sequence[Tone], metre: Metre, measures: int, *, seed: int, mode: Mode = Mode.MAJOR
) -> SharedGround:
    """A ground of four or eight measures for lines of these tones.

    A chord is used where the tones have two of its three degrees, or its root and fifth's neighbour
    is all there is: with do, re and mi alone V is re. ValueError for another length.
    """
    if measures not in (PHRASE, 2 * PHRASE):
        raise ValueError(f"a ground of {measures} measures: there are those of 4 and of 8")
    degrees = {(tone.step - mode.tonic_step) % _DEGREES for tone in tones}
    has = {root for root in (_I, _V) if degrees & _triad(root)}
    has |= {_IV} if len(degrees & _triad(_IV)) > 1 and 3 in degrees else set()
    random = Random(seed)  # noqa: S311 -- the same seed has to give the same ground
    phrases = [_CLOSING] if measures == PHRASE else [_OPENING, _CLOSING]
    chords: tuple[tuple[int, ...], ...] = ()
    for phrase in phrases:
        usable = [each for each in phrase if {root for row in each for root in row} <= has]
        chords += random.choice(usable)
    if metre.pulses == 3:  # halves of three beats are none
        chords = tuple((row[-1],) for row in chords)
    return SharedGround(metre=metre, chords=chords)


def _triad(root: int) -> set[int]:
    return {(root + third) % _DEGREES for third in (0, 2, 4)}
