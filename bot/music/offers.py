"""What a level offers its lines, with how often each comes: metres, lengths, pickups."""

from __future__ import annotations

from typing import TypeVar

from bot.errors import NoExercise
from bot.music.cell import Cell
from bot.music.level import Level
from bot.music.rhythm import Metre

_T = TypeVar("_T")
_PICKUPS = 0.3  # how often lines have a pickup, once they may


def pickup_of_level(level: Level, metre: Metre) -> Cell | None:
    """The note that phrases may have before them in a metre: an upbeat in three parts or more."""
    cell = level.pickup
    if cell is None or level.both_ways or metre.measure < 3 * cell.duration:
        return None
    return cell if metre.measure - cell.duration in cell.offsets(metre) else None


def pickup_shares(level: Level, metre: Metre) -> dict[bool, float]:
    """How often lines have no pickup and one; where it is the newest thing, always."""
    newest = level.rhythm_focus is not None and level.rhythm_focus.pickup
    if pickup_of_level(level, metre) is None:
        return {} if newest else {False: 1.0}
    return {True: 1.0} if newest else {False: 1.0 - _PICKUPS, True: _PICKUPS}


def metres_offered(level: Level, wish: Metre | None) -> list[tuple[Metre, int]]:
    """Metres with how often they come: the wish, else the newest, else all that the level has.

    Raises NoExercise where the level does not have the metre that was wished for.
    """
    if wish is not None:
        if wish not in [metre for metre, _ in level.metres]:
            known = ", ".join(metre.text for metre, _ in level.metres)
            raise NoExercise("refusal.metre", metre=wish.text, step=level.steps[1], known=known)
        return [(wish, 1)]
    newest = level.rhythm_focus.metre if level.rhythm_focus else None
    return [(newest, 1)] if newest else list(level.metres)


def lengths_offered(level: Level, wish: int | None) -> list[tuple[int, int]]:
    """Lengths with how often they come: the wish, else all that the level has.

    Raises NoExercise where the level does not have the length that was wished for.
    """
    if wish is None:
        return list(level.conditions.measures)
    if wish not in level.measures:
        known = ", ".join(str(length) for length in level.measures)
        raise NoExercise("refusal.measures", measures=wish, step=level.steps[0], known=known)
    return [(wish, 1)]


def shares(weighed: list[tuple[_T, int]]) -> list[tuple[_T, float]]:
    """Weights as parts of one."""
    total = sum(weight for _, weight in weighed)
    return [(value, weight / total) for value, weight in weighed]
