"""Voices and what they can sing: limits, tessitura, and where a key's do lies for each."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from bot.music.pitch import Key, Pitch


class Voice(StrEnum):
    """The kinds of voice in a grades 5-8 choir. In public a voice is a part (I, II, III)."""

    TREBLE = "treble"
    CHANGING = "changing"
    BARITONE = "baritone"


class Clef(StrEnum):
    """The clef of a line; `treble8` sounds an octave lower than a treble clef."""

    TREBLE = "treble"
    TREBLE8 = "treble8"
    BASS = "bass"


@dataclass(frozen=True, slots=True, kw_only=True)
class VoiceRange:
    """What a voice sings this month: outer limits and the tessitura inside them."""

    low: Pitch
    high: Pitch
    tessitura_low: Pitch
    tessitura_high: Pitch

    def __post_init__(self) -> None:
        if not self.low <= self.tessitura_low < self.tessitura_high <= self.high:
            raise ValueError(
                f"range {self.low}-{self.high} with tessitura "
                f"{self.tessitura_low}-{self.tessitura_high}: the tessitura lies inside the range"
            )

    @classmethod
    def parse(cls, limits: str, tessitura: str) -> VoiceRange:
        """Read two spans such as `Bb3-E5` and `D4-B4`; ValueError otherwise."""
        low, _, high = limits.partition("-")
        inner_low, _, inner_high = tessitura.partition("-")
        return cls(
            low=Pitch.parse(low),
            high=Pitch.parse(high),
            tessitura_low=Pitch.parse(inner_low),
            tessitura_high=Pitch.parse(inner_high),
        )

    def holds(self, pitch: Pitch) -> bool:
        """Whether the pitch lies within the limits."""
        return self.low.midi <= pitch.midi <= self.high.midi

    def window(self, key: Key, do_octave: int) -> tuple[int, int] | None:
        """Return (lowest, highest) scale step that the range holds, or None if it holds none.

        >>> DEFAULT_RANGES[Voice.CHANGING].window(Key.parse("C"), 4)
        (-3, 3)
        """
        steps = [s for s in range(-21, 22) if self.holds(key.pitch(s, 0, do_octave))]
        return (steps[0], steps[-1]) if steps else None


# Limits after trade.md section 3: treble B flat 3 to E5 (alto and soprano lists of a middle-school
# composing page), changing G3-F4 (Florida criteria and a second practitioners' list), baritone
# B flat 2 to C4 (inside the low part of Beery's list and the Florida baritone's upper limit).
DEFAULT_RANGES: dict[Voice, VoiceRange] = {
    Voice.TREBLE: VoiceRange.parse("Bb3-E5", "D4-B4"),
    Voice.CHANGING: VoiceRange.parse("G3-F4", "A3-E4"),
    Voice.BARITONE: VoiceRange.parse("Bb2-C4", "C3-Bb3"),
}
