"""Traits of one way on in a line, each with a plain name: what the fitted weights are weights of.

A trait looks at the last tone, at the different tone before it in the phrase, at the new tone, and
at where the new note stands. How much each counts is in `weights.py`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from enum import IntEnum
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

Mask = NDArray[np.bool_]
Floats = NDArray[np.float64]

DO, RE, MI, FA, SO, LA, TI = range(7)
TONIC, DOMINANT, SUBDOMINANT = (DO, MI, SO), (SO, TI, RE), (FA, LA, DO)


class Strength(IntEnum):
    """Where in the measure a note begins."""

    FIRST = 0
    MIDDLE = 1
    BEAT = 2
    BETWEEN = 3


class Length(IntEnum):
    """A note's length beside the beat."""

    SHORT = 0
    BEAT = 1
    LONG = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Grid:
    """Every way on, as arrays that broadcast to (strength, length, before, last, to).

    Steps are scale steps above do. `alone` marks where no different tone came before in the phrase.
    """

    strength: NDArray[np.int64]
    length: NDArray[np.int64]
    before: NDArray[np.int64]
    last: NDArray[np.int64]
    to: NDArray[np.int64]
    alone: Mask

    @property
    def move(self) -> NDArray[np.int64]:
        """Scale steps to the new tone, down negative."""
        return self.to - self.last

    @property
    def size(self) -> NDArray[np.int64]:
        """Scale steps to the new tone, either way."""
        return np.abs(self.move)

    @property
    def way(self) -> NDArray[np.int64]:
        """Scale steps of the move before, 0 where there was none."""
        return np.where(self.alone, 0, self.last - self.before)

    @property
    def onward(self) -> Mask:
        """Whether the line goes on the way it came."""
        return self.move * self.way > 0

    @property
    def back(self) -> Mask:
        """Whether the line turns."""
        return self.move * self.way < 0

    def within(self, triad: tuple[int, ...]) -> Mask:
        """Whether the move is a skip inside a chord."""
        skip = self.size >= 2
        return skip & np.isin(self.last % 7, triad) & np.isin(self.to % 7, triad)


def grid(steps: Sequence[int]) -> Grid:
    """Every way on among tones; the extra, last place of `before` stands for no tone."""
    row = np.asarray(steps, dtype=np.int64)
    before = np.append(row, 0)
    alone = np.append(np.zeros(len(row), dtype=np.bool_), True)
    return Grid(
        strength=np.arange(len(Strength)).reshape(-1, 1, 1, 1, 1),
        length=np.arange(len(Length)).reshape(1, -1, 1, 1, 1),
        before=before.reshape(1, 1, -1, 1, 1),
        last=row.reshape(1, 1, 1, -1, 1),
        to=row.reshape(1, 1, 1, 1, -1),
        alone=alone.reshape(1, 1, -1, 1, 1),
    )


Trait = Callable[[Grid], Mask]


def _moves() -> dict[str, Trait]:
    rows: dict[str, Trait] = {"repeat": lambda g: g.move == 0}
    for name, size in (("step", 1), ("third", 2), ("fourth", 3), ("fifth", 4), ("sixth", 5)):
        rows[f"{name} up"] = lambda g, size=size: g.move == size
        rows[f"{name} down"] = lambda g, size=size: g.move == -size
    rows["wider up"] = lambda g: g.move > 5
    rows["wider down"] = lambda g: g.move < -5
    del rows["step down"]  # what the others are measured against
    return rows


def _tones() -> dict[str, Trait]:
    names = {-3: "so,", -2: "la,", -1: "ti,", 1: "re", 2: "mi", 3: "fa", 4: "so", 5: "la", 6: "ti"}
    rows: dict[str, Trait] = {
        f"to {name}": lambda g, step=step: g.to == step for step, name in names.items()
    }
    rows["to do'"] = lambda g: g.to == 7
    rows["below so,"] = lambda g: g.to < -3
    rows["above do'"] = lambda g: g.to > 7
    return rows


def _metre() -> dict[str, Trait]:
    rows: dict[str, Trait] = {}
    for place in Strength:
        name = {0: "first beat", 1: "middle beat", 2: "other beat", 3: "between beats"}[place]
        for what, test in _KINDS.items():
            rows[f"{what}, {name}"] = lambda g, p=place, t=test: t(g) & (g.strength == p)
    for size in (Length.SHORT, Length.LONG):
        name = "short" if size is Length.SHORT else "long"
        for what, test in _KINDS.items():
            rows[f"{what}, {name}"] = lambda g, s=size, t=test: t(g) & (g.length == s)
    return rows


_KINDS: dict[str, Trait] = {
    "tonic chord": lambda g: np.isin(g.to % 7, TONIC),
    "do": lambda g: g.to % 7 == DO,
    "step": lambda g: g.size == 1,
    "repeat": lambda g: g.move == 0,
    "leap": lambda g: g.size >= 3,
    "up": lambda g: g.move > 0,
}


def _shapes() -> dict[str, Trait]:
    return {
        "step goes on by step": lambda g: (abs(g.way) == 1) & g.onward & (g.size == 1),
        "step goes on by skip": lambda g: (abs(g.way) == 1) & g.onward & (g.size >= 2),
        "step turns by step": lambda g: (abs(g.way) == 1) & g.back & (g.size == 1),
        "step turns by skip": lambda g: (abs(g.way) == 1) & g.back & (g.size >= 2),
        "third goes on by step": lambda g: (abs(g.way) == 2) & g.onward & (g.size == 1),
        "third goes on by third": lambda g: (abs(g.way) == 2) & g.onward & (g.size == 2),
        "third is filled": lambda g: (abs(g.way) == 2) & g.back & (g.size == 1),
        "third turns back": lambda g: (abs(g.way) == 2) & g.back & (g.size == 2),
        "leap is answered by step": lambda g: (abs(g.way) >= 3) & g.back & (g.size == 1),
        "leap is answered by third": lambda g: (abs(g.way) >= 3) & g.back & (g.size == 2),
        "leap goes on": lambda g: (abs(g.way) >= 3) & g.onward,
        "repeat after a leap": lambda g: (abs(g.way) >= 3) & (g.move == 0),
        "repeat after a step": lambda g: (abs(g.way) == 1) & (g.move == 0),
        "returns": lambda g: ~g.alone & (g.to == g.before),
        "returns on a beat": lambda g: ~g.alone & (g.to == g.before) & (g.strength < 3),
        "step goes on, between beats": lambda g: (
            g.onward & (g.size == 1) & (g.strength == Strength.BETWEEN)
        ),
        "turns, first beat": lambda g: g.back & (g.strength == Strength.FIRST),
    }


def _bonds() -> dict[str, Trait]:
    pairs = {
        "ti-do": (TI, DO, 1), "fa-mi": (FA, MI, -1), "la-so": (LA, SO, -1), "re-do": (RE, DO, -1),
        "mi-re": (MI, RE, -1), "so-fa": (SO, FA, -1), "do-ti": (DO, TI, -1), "do-re": (DO, RE, 1),
        "re-mi": (RE, MI, 1), "so-la": (SO, LA, 1), "mi-fa": (MI, FA, 1), "so-do up": (SO, DO, 3),
        "so-do down": (SO, DO, -4), "so-mi": (SO, MI, -2), "mi-do": (MI, DO, -2),
        "do-la": (DO, LA, -2), "fa-re": (FA, RE, -2), "re-ti": (RE, TI, -2), "la-fa": (LA, FA, -2),
        "do-mi": (DO, MI, 2), "mi-so": (MI, SO, 2), "re-fa": (RE, FA, 2), "fa-la": (FA, LA, 2),
        "la-do": (LA, DO, 2), "re-so": (RE, SO, 3), "do-fa": (DO, FA, 3), "so-re": (SO, RE, -3),
    }  # fmt: skip
    rows: dict[str, Trait] = {
        name: lambda g, a=last, b=to, m=move: (g.last % 7 == a) & (g.to % 7 == b) & (g.move == m)
        for name, (last, to, move) in pairs.items()
    }
    for name, chord in (("I", TONIC), ("V", DOMINANT), ("IV", SUBDOMINANT)):
        rows[f"skip inside {name}"] = lambda g, c=chord: g.within(c)
        rows[f"leap inside {name}"] = lambda g, c=chord: g.within(c) & (g.size >= 3)
        rows[f"skip inside {name}, strong"] = lambda g, c=chord: g.within(c) & (g.strength < 2)
    return rows


TRAITS: Mapping[str, Trait] = MappingProxyType(
    {**_moves(), **_tones(), **_metre(), **_shapes(), **_bonds()}
)
