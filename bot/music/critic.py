"""Which of several valid lines is most like a sung tune: a straight-line score of plain facts.

Every candidate obeys every rule; the critic only chooses. It was fitted (`python -m tests.fit`) so
that choices by the exponential of the score, among as many as are drawn, have the facts of folk
tunes on the mean; the best of many would lie beyond. The numbers are in `weights.py`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import exp
from random import Random

from bot.music.exercise import Exercise
from bot.music.line_facts import Heard, Timing, tone_facts
from bot.music.patterns import Pattern, ticks
from bot.music.rhythm import Metre
from bot.music.weights import CRITIC, RHYTHM_CRITIC

_DIGITS = 9


def score(exercise: Exercise) -> float:
    """How much a line is like a sung tune; higher is better. Only the top line is looked at."""
    return line_score(heard(exercise), exercise.measures)


def line_score(line: Sequence[Heard], measures: int) -> float:
    """The same of notes as they are heard."""
    return sung_score(Timing(line, measures), [note.step for note in line])


def sung_score(timing: Timing, steps: Sequence[int]) -> float:
    """The same of a timing and the steps above the tonic that are sung to it."""
    return _sum(CRITIC, timing.facts | tone_facts(timing, steps))


def rhythm_score(timing: Timing) -> float:
    """How much the rhythm of a line is like that of a sung tune, whatever its tones."""
    return _sum(RHYTHM_CRITIC, timing.facts)


def _sum(weights: Mapping[str, float], found: Mapping[str, float]) -> float:
    return sum(weight * found[name] for name, weight in weights.items())


def best(candidates: Sequence[Exercise]) -> int:
    """The number of the best candidate, the first of equals; ValueError where there is none."""
    if not candidates:
        raise ValueError("no candidate to choose from")
    scores = [score(each) for each in candidates]
    return scores.index(max(scores))


def chosen(scores: Sequence[float], random: Random) -> int:
    """The number of one candidate, each as likely as the exponential of its score says.

    ValueError where there is none.
    """
    if not scores:
        raise ValueError("no candidate to choose from")
    top = max(scores)
    chances = [round(exp(each - top), _DIGITS) for each in scores]
    aim = random.random() * sum(chances)
    for number, chance in enumerate(chances):
        aim -= chance
        if aim < 0.0:
            return number
    return scores.index(top)


def heard(exercise: Exercise) -> tuple[Heard, ...]:
    """The notes of the top line, tied ones as one, rests left out."""
    metre, pickup = exercise.metre, exercise.pickup
    measure, pulse = metre.measure, metre.pulse
    found: list[Heard] = []
    tonic = exercise.key.mode.tonic_step
    held = False
    for offset, note in exercise.parts[0].timed():
        beats = float(note.duration / pulse)
        if held:
            found[-1] = found[-1]._replace(beats=found[-1].beats + beats)
        elif note.tone is not None:
            number, place = divmod(offset - pickup, measure)
            found.append(Heard(int(number), float(place / pulse), beats, note.tone.step - tonic))
        held = note.tied
    return tuple(found)


def heard_rhythm(measures: Sequence[Pattern], metre: Metre) -> list[Heard]:
    """The notes of measures as they are heard, all on the tonic."""
    measure, pulse = ticks(metre.measure), ticks(metre.pulse)
    found = []
    for number, each in enumerate(measures):
        for note in each.struck:
            if not note.rest:
                bar, place = divmod(number * measure + note.offset, measure)
                found.append(Heard(bar, place / pulse, note.ticks / pulse, 0))
    return found
