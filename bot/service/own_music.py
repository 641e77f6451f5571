"""The director's own music: a file's bytes in, an exercise or every fault out."""

from __future__ import annotations

from bot.music.exercise import Exercise


def read_music(data: bytes, file: str) -> Exercise:
    """Read MusicXML, plain or compressed; InputProblems lists every fault with measure and beat."""
    # music21 takes half a second to load and most days nobody brings music.
    from bot.notation.read import exercise_from_musicxml

    return exercise_from_musicxml(data, file)
