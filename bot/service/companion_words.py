"""What the director is told of lines that differ from the main one. Pure."""

from __future__ import annotations

from typing import assert_never

from bot.activities.reading import Reading
from bot.errors import InputProblems
from bot.music.companion import Footing, footing_of
from bot.music.exercise import Exercise
from bot.music.in_turn import sung_once
from bot.music.step import Level, Sequence, level_of
from bot.music.texture import Texture, texture_of
from bot.service.content import Content
from bot.service.placing import line_alone
from bot.service.step_words import step_words
from bot.wording import Wording

_COPIED = (Texture.ECHO, Texture.CANON)  # one line, sung in turn


def companion_words(reading: Reading, content: Content) -> str:
    """Who reads a companion line, and at which step; empty where all read one line.

    Only the desk says so: nobody in the room hears that a line is an easier one.
    """
    steps, sequence = reading.steps, content.sequences.get(reading.steps.sequence)
    if reading.title is not None or len(reading.exercise.parts) == 1 or sequence is None:
        return ""
    try:
        level = level_of(sequence, (steps.pitch, steps.rhythm, steps.voice))
    except InputProblems:
        return ""
    if texture_of(level) in _COPIED:
        if reading.focus:
            return ""  # an easier line on purpose
        return " ".join(in_turn_words(reading.exercise, sequence, level, content.wording))
    if texture_of(level) is not Texture.UNISON:
        return ""
    told = []
    for number in range(1, len(reading.exercise.parts)):
        labels = [part.label for part in reading.parts if part.line == number]
        footing, step = footing_of(line_alone(reading.exercise, number), sequence, level)
        lower = step_words(sequence, step, content.wording)
        told.append(_words(", ".join(labels), footing, lower, content))
    return " ".join(told)


def in_turn_words(
    exercise: Exercise, sequence: Sequence, level: Level, say: Wording
) -> tuple[str, ...]:
    """That an echo or a canon is at a lower step, the own one being out of reach; else nothing."""
    texture = texture_of(level)
    if texture not in _COPIED:
        return ()
    footing, step = footing_of(sung_once(exercise, texture), sequence, level)
    if footing is not Footing.LOWER_STEP or step == level.steps[0]:
        return ()
    lower, own = (step_words(sequence, each, say) for each in (step, level.steps[0]))
    return (say("companion.all_lower", step=lower, own=own),)


def _words(label: str, footing: Footing, step: str, content: Content) -> str:
    say = content.wording
    match footing:
        case Footing.MAIN | Footing.SAME_STEP:
            return say("companion.same_step", label=label)
        case Footing.LOWER_STEP:
            return say("companion.lower_step", label=label, step=step)
        case Footing.TWO_TONES:
            return say("companion.two_tones", label=label)
    assert_never(footing)
