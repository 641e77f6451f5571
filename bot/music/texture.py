"""Ways of singing together, as the voice steps of a sequence name them."""

from __future__ import annotations

from enum import StrEnum


class Texture(StrEnum):
    """What a voice step adds; the words stand in a sequence file."""

    UNISON = "unison"
    ECHO = "echo"  # each measure sung first by one part, then by the others
    OSTINATO = "ostinato"  # a figure on do and so that comes again in every measure
    PEDAL = "pedal"  # the lowest part holds one tone
    CANON = "canon"  # the same line again, two measures later
    THIRDS = "thirds and sixths"  # two parts in one rhythm
    UNLIKE = "unlike rhythm"  # the lower part holds on where the upper one moves
    THREE = "three parts"  # in one rhythm, whole chords on strong beats
