"""Who sings which part where lines sound together: voices share parts, or divide into them.

A choir with as many voices as parts gives each voice its part; with more, neighbours share one,
octaves apart; with fewer, a voice divides.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from bot.music.exercise import Exercise
from bot.music.part_plans import groups_of
from bot.music.voice import VoiceRange

_OCTAVES = range(6, 0, -1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Casting:
    """Which voices sing each part, and the range to which each part is held: its first voice's."""

    singers: tuple[tuple[int, ...], ...]
    ranges: tuple[VoiceRange, ...]


def castings(ranges: Sequence[VoiceRange], parts: int) -> tuple[Casting, ...]:
    """Every way to share parts among voices, the highest first."""
    voices = len(ranges)
    if voices >= parts:
        groups = list(groups_of(voices, parts))
    else:
        groups = [
            tuple((voice,) for voice, often in enumerate(shares) for _ in range(often))
            for shares in _shares(voices, parts)
        ]
    return tuple(
        Casting(singers=group, ranges=tuple(ranges[singers[0]] for singers in group))
        for group in groups
    )


def octaves_of(
    exercise: Exercise, casting: Casting, ranges: Sequence[VoiceRange]
) -> tuple[tuple[int, ...], ...] | None:
    """Each singer's octave of do: the part's own, or the highest below it that the voice sings.

    None where a voice that shares a part cannot sing it.
    """
    found = []
    for number, singers in enumerate(casting.singers):
        part = exercise.parts[number]
        row = [part.do_octave]
        for voice in singers[1:]:
            fits = [
                octave
                for octave in _OCTAVES
                if octave <= part.do_octave
                and all(
                    ranges[voice].holds(exercise.key.pitch(tone.step, tone.alter, octave))
                    for tone in part.tones()
                )
            ]
            if not fits:
                return None
            row.append(fits[0])
        found.append(tuple(row))
    return tuple(found)


def _shares(voices: int, parts: int) -> Iterator[tuple[int, ...]]:
    """How many parts each voice divides into, one at least."""
    if voices == 1:
        yield (parts,)
        return
    for first in range(1, parts - voices + 2):
        for rest in _shares(voices - 1, parts - first):
            yield (first, *rest)
