"""All states of a lesson written down once, for a browser that only looks up what a press does.

Also which keys press what: a clicker's, and a letter for everything else.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType

from bot.activities.routine import Choice, Effect, Press, Routine, announce, apply

# Names of keys as browsers give them (UI Events KeyboardEvent key values). Clickers send Page Down
# and Page Up or the arrows, and a full stop or B for the dark.
KEYS: Mapping[str, Press] = MappingProxyType(
    {
        "PageDown": Press.ON,
        "Enter": Press.ON,
        " ": Press.ON,
        "PageUp": Press.BACK,
        "Backspace": Press.BACK,
        "ArrowRight": Press.SPOT_RIGHT,
        "ArrowLeft": Press.SPOT_LEFT,
        ".": Press.BLANK,
        "b": Press.BLANK,
        "r": Press.REPEAT,
        "t": Press.CLOCK,
        "h": Press.HEAR,
        "a": Press.ANOTHER,
        "s": Press.AGAIN,
        "w": Press.OTHER_WAY,
        "c": Press.NEXT_CHOIR,
    }
)


class Dial(StrEnum):
    """What can be turned at any moment, whatever the routine is at."""

    SLOWER = "slower"
    FASTER = "faster"
    KEY_UP = "key-up"
    KEY_DOWN = "key-down"
    DRONE = "drone"
    PART = "part"  # the next part's staff
    QUIET = "quiet"  # count in with clicks, or without
    SCHEME = "scheme"  # paper or night
    KEYS = "keys"  # show the line of keys again


DIALS: Mapping[str, Dial] = MappingProxyType(
    {
        "-": Dial.SLOWER,
        "+": Dial.FASTER,
        "=": Dial.FASTER,  # the same key without shift
        "ArrowUp": Dial.KEY_UP,
        "ArrowDown": Dial.KEY_DOWN,
        "d": Dial.DRONE,
        "p": Dial.PART,
        "q": Dial.QUIET,
        "n": Dial.SCHEME,
        "?": Dial.KEYS,
        "k": Dial.KEYS,
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class RoutineTable:
    """Every state that presses can lead to, the beginning first, and what each press does there.

    `moves[state][press]` is (index of the next state, effects); a press that is missing there does
    nothing.
    """

    states: tuple[Routine, ...]
    moves: tuple[dict[Press, tuple[int, tuple[Effect, ...]]], ...]


def routine_table(measures: int, *, hearing: bool, first: Choice = Choice.REST) -> RoutineTable:
    """Count out all states of a line with so many measures; `first` is marked at its end."""
    states = [Routine(measures=measures, hearing=hearing, first=first)]
    known = {states[0]: 0}
    moves: list[dict[Press, tuple[int, tuple[Effect, ...]]]] = []
    while len(moves) < len(states):
        row = {}
        for press, after, effects in _ways(states[len(moves)]):
            if after not in known:
                known[after] = len(states)
                states.append(after)
            row[press] = (known[after], effects)
        moves.append(row)
    return RoutineTable(states=tuple(states), moves=tuple(moves))


def _ways(before: Routine) -> Iterator[tuple[Press, Routine, tuple[Effect, ...]]]:
    for press in Press:
        after = apply(before, press)
        effects = announce(before, press, after)
        if after != before or effects:
            yield press, after, effects
