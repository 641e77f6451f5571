"""A line moved up or down by half steps, spelled in the plainest key that sounds there."""

from __future__ import annotations

from bot.music.exercise import Exercise
from bot.music.pitch import Key, Pitch

_SIGNATURES = range(-6, 7)


def moved(exercise: Exercise, half_steps: int) -> Exercise:
    """The same line so many half steps higher (negative: lower), every part alike.

    Of two keys that sound alike the one with fewer signs; six sharps going up, six flats down.

    >>> from bot.music.exercise import Note, Part, Tone
    >>> from bot.music.rhythm import WHOLE, Metre
    >>> line = Part(notes=(Note(duration=WHOLE, tone=Tone(step=0)),))
    >>> high = moved(Exercise(key=Key.parse("F"), metre=Metre(), parts=(line,)), 2)
    >>> str(high.key), str(high.first_pitch())
    ('G major', 'G4')
    """
    if half_steps == 0:
        return exercise
    dos = [_do(exercise.key, part.do_octave) for part in exercise.parts]
    key = _key_of(exercise.key, dos[0].midi + half_steps, up=half_steps > 0)
    octaves = tuple(_octave(key, do.midi + half_steps) for do in dos)
    return exercise.in_key(key, octaves)


def _do(key: Key, octave: int) -> Pitch:
    return key.pitch(0, 0, octave)


def _key_of(old: Key, do_midi: int, *, up: bool) -> Key:
    keys = [Key(fifths=fifths, mode=old.mode) for fifths in _SIGNATURES]
    sounding = [key for key in keys if (_do(key, 4).midi - do_midi) % 12 == 0]
    return min(sounding, key=lambda key: (abs(key.fifths), -key.fifths if up else key.fifths))


def _octave(key: Key, do_midi: int) -> int:
    return 4 + (do_midi - _do(key, 4).midi) // 12
