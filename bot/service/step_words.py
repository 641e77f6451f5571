"""What is told of the step that a line is at, or of the newest thing that it is without. Pure."""

from __future__ import annotations

from bot.music.exercise import Exercise
from bot.music.level import Level
from bot.music.sequence import Sequence
from bot.wording import Wording


def step_words(sequence: Sequence, step: str, say: Wording) -> str:
    """A step by its id and its name: `step p05 (fa by step)`."""
    return say("words.step", step=step, name=sequence.step(step).name)


def without_newest(exercise: Exercise, level: Level, say: Wording) -> tuple[str, ...]:
    """That the newest thing is a metre, and the line in another; nothing where it is not so."""
    newest = level.rhythm_focus
    if newest is None or newest.metre in (None, exercise.metre):
        return ()
    asked = exercise.metre.text
    return (say("words.other_metre", step=newest.step, name=newest.name, metre=asked),)
