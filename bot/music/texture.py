"""Ways of singing together, as the voice steps of a sequence name them."""

from __future__ import annotations

from enum import StrEnum

from bot.music.level import Level


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


def texture_of(level: Level) -> Texture:
    """The way of singing together of a level; ValueError for a word that is none."""
    return Texture(level.texture)


def parts_needed(texture: Texture) -> int:
    """How many parts a texture has."""
    match texture:
        case Texture.UNISON:
            return 1
        case Texture.THREE:
            return 3
        case _:
            return 2
