"""What is told where a line is without the newest thing of its step. Pure."""

from __future__ import annotations

from bot.music.exercise import Exercise
from bot.music.level import Level
from bot.wording import Wording


def without_newest(exercise: Exercise, level: Level, say: Wording) -> tuple[str, ...]:
    """That the newest thing is a metre, and the line in another; nothing where it is not so."""
    newest = level.rhythm_focus
    if newest is None or newest.metre in (None, exercise.metre):
        return ()
    asked = exercise.metre.text
    return (say("words.other_metre", step=newest.step, name=newest.name, metre=asked),)
