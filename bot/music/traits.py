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
TONIC, DOMINANT = (DO, MI, SO), (SO, TI, RE)


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
    """Size and direction; a step, either way, is what they are measured against."""
    rows: dict[str, Trait] = {"repeat": lambda g: g.move == 0}
    for name, move in (("third up", 2), ("fourth up", 3), ("fourth down", -3), ("fifth down", -4)):
        rows[name] = _moved(move)
    rows["sixth down"] = lambda g: g.move == -5
    rows["wider up"] = lambda g: g.move > 5
    rows["wider down"] = lambda g: g.move < -5
    return rows


def _moved(move: int) -> Trait:
    return lambda g: g.move == move


def _arrives(step: int) -> Trait:
    return lambda g: g.to == step


def _standing(kind: Trait, place: Strength) -> Trait:
    return lambda g: kind(g) & (g.strength == place)


def _lasting(kind: Trait, length: Length) -> Trait:
    return lambda g: kind(g) & (g.length == length)


def _bound(last: int, to: int, move: int) -> Trait:
    return lambda g: (g.last % 7 == last) & (g.to % 7 == to) & (g.move == move)


def _tones() -> dict[str, Trait]:
    """Where the line goes; do, la, low ti and low la are what others are measured against."""
    names = {-3: "so,", 1: "re", 2: "mi", 3: "fa", 4: "so", 6: "ti", 7: "do'"}
    rows: dict[str, Trait] = {f"to {name}": _arrives(step) for step, name in names.items()}
    rows["below so,"] = lambda g: g.to < -3
    rows["above do'"] = lambda g: g.to > 7
    return rows


_KINDS: Mapping[str, Trait] = MappingProxyType({
    "tonic chord": lambda g: np.isin(g.to % 7, TONIC),
    "do": lambda g: g.to % 7 == DO,
    "fa": lambda g: g.to % 7 == FA,
    "low so": lambda g: g.to == -3,
    "step": lambda g: g.size == 1,
    "repeat": lambda g: g.move == 0,
    "leap": lambda g: g.size >= 3,
    "up": lambda g: g.move > 0,
})  # fmt: skip
_PLACES: Mapping[str, tuple[Strength, tuple[str, ...]]] = MappingProxyType({
    "first beat": (Strength.FIRST, ("do", "step", "leap")),
    "middle beat": (Strength.MIDDLE, ("do", "step", "leap", "up")),
    "other beat": (Strength.BEAT, ("tonic chord", "do", "low so", "step", "leap", "up")),
    "between beats": (Strength.BETWEEN, ("tonic chord", "do", "step", "leap", "up")),
})  # fmt: skip


def _metre() -> dict[str, Trait]:
    """What stands on which beat, and on short and long notes."""
    rows: dict[str, Trait] = {}
    for name, (place, kinds) in _PLACES.items():
        for kind in kinds:
            rows[f"{kind}, {name}"] = _standing(_KINDS[kind], place)
    for kind, name, size in (
        ("step", "short", Length.SHORT),
        ("do", "long", Length.LONG),
        ("repeat", "long", Length.LONG),
        ("fa", "long", Length.LONG),
    ):
        rows[f"{kind}, {name}"] = _lasting(_KINDS[kind], size)
    return rows


def _shapes() -> dict[str, Trait]:
    """How a move follows from the move before it."""
    return {
        "step goes on by step": lambda g: (np.abs(g.way) == 1) & g.onward & (g.size == 1),
        "step goes on by skip": lambda g: (np.abs(g.way) == 1) & g.onward & (g.size >= 2),
        "third goes on by third": lambda g: (np.abs(g.way) == 2) & g.onward & (g.size == 2),
        "third up is filled": lambda g: (g.way == 2) & (g.move == -1),
        "third down is filled": lambda g: (g.way == -2) & (g.move == 1),
        "third up goes on by step": lambda g: (g.way == 2) & (g.move == 1),
        "third up turns back": lambda g: (g.way == 2) & (g.move == -2),
        "step up, then third down": lambda g: (g.way == 1) & (g.move == -2),
        "step down, then third up": lambda g: (g.way == -1) & (g.move == 2),
        "step up, then again": lambda g: (g.way == 1) & (g.move == 0),
        "wide leap turns": lambda g: g.back & (g.size >= 4),
        "leap goes on": lambda g: (np.abs(g.way) >= 3) & g.onward,
        "leap goes on by skip": lambda g: (np.abs(g.way) >= 3) & g.onward & (g.size >= 2),
        "returns": lambda g: ~g.alone & (g.to == g.before),
        "returns on a beat": lambda g: (
            ~g.alone & (g.to == g.before) & (g.strength != Strength.BETWEEN)
        ),
        "step goes on, between beats": lambda g: (
            g.onward & (g.size == 1) & (g.strength == Strength.BETWEEN)
        ),
    }


def _bonds() -> dict[str, Trait]:
    """Tones that lead to one another, and skips inside the chords that carry a tune."""
    pairs = {
        "ti-do": (TI, DO, 1), "fa-mi": (FA, MI, -1), "mi-re": (MI, RE, -1), "so-fa": (SO, FA, -1),
        "do-ti": (DO, TI, -1), "mi-fa": (MI, FA, 1), "so-do up": (SO, DO, 3), "fa-re": (FA, RE, -2),
        "re-ti": (RE, TI, -2), "la-fa": (LA, FA, -2), "do-mi": (DO, MI, 2), "fa-la": (FA, LA, 2),
        "do-fa": (DO, FA, 3), "ti-re": (TI, RE, 2), "fa-ti": (FA, TI, -4), "so-fa up": (SO, FA, 6),
    }  # fmt: skip
    rows: dict[str, Trait] = {
        name: _bound(last, to, move) for name, (last, to, move) in pairs.items()
    }
    rows["skip inside I"] = lambda g: g.within(TONIC)
    rows["leap inside V"] = lambda g: g.within(DOMINANT) & (g.size >= 3)
    rows["leap from ti"] = lambda g: (g.last % 7 == TI) & (g.size >= 3)
    rows["high do-ti"] = lambda g: (g.last == 7) & (g.to == 6)
    rows["octave"] = lambda g: g.size == 7
    return rows


TRAITS: Mapping[str, Trait] = MappingProxyType(
    {**_moves(), **_tones(), **_metre(), **_shapes(), **_bonds()}
)
