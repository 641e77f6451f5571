"""Which way of singing together music in parts has, and the first voice step that teaches it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from fractions import Fraction
from itertools import combinations
from types import MappingProxyType

from bot.music.exercise import Exercise, Note, Part
from bot.music.sequence import Sequence, Track

_TONIC, _FIFTH = 0, 4  # scale steps above the tonic


def texture_step(exercise: Exercise, sequence: Sequence) -> str | None:
    """The id of the first voice step that music in parts belongs to, None where no step has it."""
    for step in sequence.track(Track.VOICE):
        fits = _FITS.get(step.element.texture or "")
        if fits is not None and fits(exercise):
            return step.id
    return None


def _in_turn(exercise: Exercise) -> bool:
    """Whether never two parts sing at once."""
    sung = [
        [(offset, offset + note.duration) for offset, note in part.timed() if note.tone]
        for part in exercise.parts
    ]
    return not any(
        start < other_end and other_start < end
        for one, other in combinations(sung, 2)
        for start, end in one
        for other_start, other_end in other
    )


def _on_one_tone(exercise: Exercise) -> bool:
    """Whether the lowest part holds one tone in every measure but the last."""
    held = _measures(exercise, exercise.parts[-1])[:-1]
    return len({note.tone for measure in held for note in measure}) == 1


def _figure(exercise: Exercise) -> bool:
    """Whether the lowest part says one figure on tonic and fifth in every measure but the last."""
    low, home = exercise.parts[-1], exercise.key.mode.tonic_step
    figures = set(_measures(exercise, low)[:-1])
    on = {(tone.step - home) % 7 for tone in low.tones() if not tone.alter}
    return len(figures) == 1 and on <= {_TONIC, _FIFTH} and not any(t.alter for t in low.tones())


def _measures(exercise: Exercise, part: Part) -> list[tuple[Note, ...]]:
    """The notes of each whole measure of a part; a pickup is left out."""
    rows: dict[Fraction, list[Note]] = {}
    for offset, note in part.timed():
        if offset >= exercise.pickup:
            measure = (offset - exercise.pickup) // exercise.metre.measure
            rows.setdefault(Fraction(measure), []).append(note)
    return [tuple(row) for row in rows.values()]


def _follows(exercise: Exercise) -> bool:
    """Whether each later part waits, and then sings what the first one sang."""
    first, *others = (list(part.timed()) for part in exercise.parts)
    for row in others:
        entry = next((offset for offset, note in row if note.tone), Fraction(0))
        sung = [(offset - entry, note) for offset, note in row if offset >= entry]
        if not entry or sung != first[: len(sung)]:
            return False
    return True


def _alike(exercise: Exercise) -> bool:
    """Whether the parts have one rhythm."""
    rhythms = {
        tuple((note.duration, note.tone is None, note.tied) for note in part.notes)
        for part in exercise.parts
    }
    return len(rhythms) == 1


def _two(exercise: Exercise) -> bool:
    return len(exercise.parts) == 2


# By the words that sequence files have for textures.
_FITS: Mapping[str, Callable[[Exercise], bool]] = MappingProxyType(
    {
        "echo": _in_turn,
        "pedal": lambda exercise: _two(exercise) and _on_one_tone(exercise),
        "ostinato": lambda exercise: _two(exercise) and _figure(exercise),
        "canon": _follows,
        "thirds and sixths": lambda exercise: _two(exercise) and _alike(exercise),
        "unlike rhythm": _two,
        "three parts": lambda exercise: len(exercise.parts) == 3,
    }
)
