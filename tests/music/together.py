"""Parts as they sound: a score of what each voice reads, and parallels as music21 hears them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations, pairwise

from music21.note import Note as Music21Note
from music21.pitch import Pitch as Music21Pitch
from music21.voiceLeading import VoiceLeadingQuartet

from bot.music.exercise import Exercise
from bot.music.room_lines import RoomReading
from bot.music.syllable import word_of


def score(reading: RoomReading, voices: int) -> Exercise:
    """Every voice's line in its octave, the highest first."""
    parts = tuple(
        replace(
            reading.exercise.parts[reading.line_of(voice)],
            do_octave=reading.do_octave_of(voice),
        )
        for voice in range(voices)
    )
    return replace(reading.exercise, parts=parts)


def parallels(exercise: Exercise) -> list[str]:
    """Parallel fifths, octaves and unisons between different lines, found by music21."""
    found = []
    for high, low in combinations(range(len(exercise.parts)), 2):
        if exercise.parts[high].notes == exercise.parts[low].notes:
            continue
        for one, other in pairwise(_moments(exercise, high, low)):
            if None in one or None in other:
                continue
            notes = [Music21Note(pitch) for pitch in (one[0], other[0], one[1], other[1])]
            quartet = VoiceLeadingQuartet(*notes)
            if quartet.parallelFifth() or quartet.parallelUnisonOrOctave():
                found.append(f"parts {high + 1} and {low + 1}: {one} to {other}")
    return found


def _moments(exercise: Exercise, high: int, low: int) -> list[tuple[Music21Pitch | None, ...]]:
    offsets = sorted({o for part in (high, low) for o, _ in exercise.parts[part].timed()})
    return [tuple(_sounding(exercise, part, at) for part in (high, low)) for at in offsets]


def _sounding(exercise: Exercise, part: int, at: object) -> Music21Pitch | None:
    note = [note for offset, note in exercise.parts[part].timed() if offset <= at][-1]
    return None if note.tone is None else Music21Pitch(midi=exercise.pitch(note.tone, part).midi)


def sung(exercise: Exercise) -> list[str]:
    """The syllables of each part."""
    return [" ".join(word_of(tone) for tone in part.tones()) for part in exercise.parts]


def spans(exercise: Exercise) -> Sequence[int]:
    """Semitones between the two parts wherever one of them begins a note."""
    offsets = sorted({offset for part in exercise.parts for offset, _ in part.timed()})
    heights = [[_sounding(exercise, part, at) for part in (0, 1)] for at in offsets]
    return [abs(a.midi - b.midi) for a, b in heights if a is not None and b is not None]
