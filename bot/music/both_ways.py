"""Lines that read as well from the last note to the first: composed so, not found by trying.

A line goes both ways when it keeps every rule of its step in either direction: it begins and ends
on the same tone, comes to its second note as it would to its last, opens each phrase as it would
close it, and turns back before a leap as after one. All of that is part of the sums, so such lines
are counted, drawn and numbered as exactly as any others.
"""

from __future__ import annotations

from dataclasses import replace

from bot.errors import NoExercise
from bot.music.cell import HELD, Cell
from bot.music.level import Level, level_of
from bot.music.sequence import Sequence


def both_ways(level: Level) -> Level:
    """The level with only those lines that keep its rules backwards as well.

    `checker.check` finds nothing in such a line nor in `turns.retrograde` of it. Raises NoExercise:
    "refusal.mirror" where the newest rhythm is none backwards, "refusal.mirror_pickup" where it is
    a pickup, "refusal.mirror_ends" where a line may not begin on the tone on which it ends.
    """
    if level.conditions.end not in level.conditions.start:
        raise NoExercise("refusal.mirror_ends", step=level.steps[0])
    if level.rhythm_focus and level.rhythm_focus.pickup:
        raise NoExercise("refusal.mirror_pickup", step=level.steps[1])
    cells = tuple(cell for cell in level.cells if _mirrors(cell, level))
    focus = level.rhythm_focus
    if focus and focus.cells - {HELD} - {cell.text for cell in cells}:
        raise NoExercise("refusal.mirror", step=focus.step, name=focus.name)
    return replace(level, cells=cells, both_ways=True)


def nearest_both_ways(sequence: Sequence, ids: tuple[str, str, str]) -> tuple[str, str, str]:
    """These steps (pitch, rhythm, voice), or those with the nearest lower rhythm step that mirrors.

    The lowest rhythm step has single notes only, which are the same from either side.
    """
    pitch, rhythm, voice = ids
    for step in reversed(sequence.up_to(sequence.step(rhythm))):
        level = level_of(sequence, (pitch, step.id, voice))
        focus = level.rhythm_focus
        fresh = [cell for cell in level.cells if cell.text in _newest(level)]
        if not (focus and focus.pickup) and all(_mirrors(cell, level) for cell in fresh):
            return level.steps
    raise AssertionError("the lowest rhythm step has single notes only")


def _newest(level: Level) -> frozenset[str]:
    return level.rhythm_focus.cells if level.rhythm_focus else frozenset()


def _mirrors(cell: Cell, level: Level) -> bool:
    """Whether a cell is one of the level backwards as well, in some metre of the level.

    A silent measure stands second in its phrase, which from the other end is third.
    """
    metres = [metre for metre, _ in level.metres]
    back = " ".join(reversed(cell.text.split()))
    return any(
        metre.measure - offset - cell.duration in other.offsets(metre)
        for other in level.cells
        if other.text == back
        for metre in metres
        for offset in cell.offsets(metre)
        if not (cell.notes[0].rest and cell.duration == metre.measure)
    )
