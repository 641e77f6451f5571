"""Coming back to an earlier step: its element takes the place of the newest in a line."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from bot.music.cell import HELD
from bot.music.level import Level, PitchFocus, RhythmFocus, any_climax, level_of
from bot.music.sequence import Sequence, Track


def refocused(level: Level, sequence: Sequence, steps: Iterable[str]) -> Level:
    """The same level with the focus of earlier steps, one of a track at most.

    All else stays as it is: tones, skips, cells, conditions. Only where an earlier tone or skip
    comes back may the top tone come more than once: it may be that very tone, and the voices may
    have none above it. A step whose element the level does not have, or that has no focus of its
    own, changes nothing. InputProblems for an unknown id.
    """
    for step_id in steps:
        track = sequence.step(step_id).track
        earlier = level_of(sequence, (step_id,))
        if track is Track.PITCH and _sings(level, earlier.pitch_focus):
            if level.pitch_focus != earlier.pitch_focus:
                level = replace(any_climax(level), pitch_focus=earlier.pitch_focus)
        elif track is Track.RHYTHM and _beats(level, earlier.rhythm_focus):
            level = replace(level, rhythm_focus=earlier.rhythm_focus)
    return level


def _sings(level: Level, focus: PitchFocus | None) -> bool:
    return focus is not None and focus.tones <= set(level.tones) and focus.skips <= level.skips


def _beats(level: Level, focus: RhythmFocus | None) -> bool:
    cells = {cell.text for cell in level.cells} | ({HELD} if level.held else set())
    metres = {metre for metre, _ in level.metres}
    return focus is not None and focus.cells <= cells and focus.metre in (None, *metres)
