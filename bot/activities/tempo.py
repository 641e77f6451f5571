"""The tempo of a reading: the director's, or the one that its note values ask for."""

from __future__ import annotations

from bot.music.exercise import Exercise

# Beats a minute, after trade practice: 60 where the beat divides, 66 to 72 where it does not.
_DIVIDED_BPM = 60
_PLAIN_BPM = 69


def reading_tempo_bpm(exercise: Exercise, chosen_bpm: int | None) -> int:
    """Felt beats a minute; `chosen_bpm` is the choir's own setting, None for none."""
    if chosen_bpm is not None:
        return chosen_bpm
    pulse = exercise.metre.pulse
    divided = any(note.duration < pulse for part in exercise.parts for note in part.notes)
    return _DIVIDED_BPM if divided else _PLAIN_BPM
