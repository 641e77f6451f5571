"""Exercises that chance makes, for properties that hold for all music."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import strategies as st

from bot.music.exercise import Exercise, Note, Part, Tone
from bot.music.pitch import Key, Mode
from bot.music.rhythm import Metre

METRES = ("2/4", "3/4", "4/4", "5/4", "3/8", "6/8", "9/8", "2/2", "cut")
_EIGHTH = Fraction(1, 8)
# Lengths that one value writes, and lengths that need a tie (5/8, 5/16, 9/16, 13/32, 5/4).
_LENGTHS = [Fraction(n, 32) for n in (2, 4, 4, 6, 8, 8, 8, 10, 12, 13, 16, 16, 18, 20, 24, 32, 40)]


@st.composite
def exercises(draw: st.DrawFn) -> Exercise:
    """One to three parts of one to four measures, with pickups, ties, rests and alterations."""
    metre = Metre.parse(draw(st.sampled_from(METRES)))
    key = Key(fifths=draw(st.integers(-4, 4)), mode=draw(st.sampled_from(Mode)))
    eighths = int(metre.measure / _EIGHTH)
    pickup = draw(st.integers(0, eighths - 1)) * _EIGHTH
    length = metre.measure * draw(st.integers(1, 4))
    if pickup and draw(st.booleans()):
        length += pickup  # the last measure is full
    parts = tuple(_part(draw, length) for _ in range(draw(st.integers(1, 3))))
    return Exercise(key=key, metre=metre, parts=parts, pickup=pickup)


def _part(draw: st.DrawFn, length: Fraction) -> Part:
    notes: list[Note] = []
    left = length
    while left:
        duration = min(draw(st.sampled_from(_LENGTHS)), left)
        held = notes[-1].tone if notes and notes[-1].tied else None
        tone = held or (_tone(draw) if not notes or draw(st.integers(0, 4)) else None)
        tied = tone is not None and duration < left and draw(st.integers(0, 5)) == 0
        notes.append(Note(duration=duration, tone=tone, tied=tied))
        left -= duration
    return Part(notes=tuple(notes), do_octave=draw(st.integers(2, 5)))


def _tone(draw: st.DrawFn) -> Tone:
    return Tone(step=draw(st.integers(-6, 10)), alter=draw(st.sampled_from((0, 0, 0, 1, -1))))


def sung(exercise: Exercise, part: int) -> list[tuple[Fraction, Fraction, str]]:
    """What is heard of a part: (onset, length in whole notes, pitch), tied notes as one."""
    heard: list[tuple[Fraction, Fraction, str]] = []
    held = False
    for onset, note in exercise.parts[part].timed():
        if note.tone is not None and held:
            start, length, name = heard[-1]
            heard[-1] = (start, length + note.duration, name)
        elif note.tone is not None:
            heard.append((onset, note.duration, exercise.pitch(note.tone, part).plain))
        held = note.tied
    return heard
