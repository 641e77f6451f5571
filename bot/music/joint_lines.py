"""All ways to sing several parts over given rhythms, summed exactly over slices.

Backward messages over the states between slices give the weight of everything that can follow, so a
walk that goes by them draws all parts at once with their exact joint probability: no part is ever
left without a tone.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from types import MappingProxyType
from typing import NamedTuple

import numpy as np

from bot.music.blocks import Blocks, on_axes
from bot.music.joint import Joint
from bot.music.lines import Choice, Label, leads_through
from bot.music.messages import Floats
from bot.music.passage import Table
from bot.music.side import Places
from bot.music.slices import Slice
from bot.music.sounding import Kind, kind_of


class _State(NamedTuple):
    """Before slice `slice`, with a context of each part, in a row of what is still needed."""

    slice: int
    contexts: tuple[int, ...]
    row: int


class JointLines:
    """Every setting of the parts over the slices; a label has the tone of each part.

    `given` has the tones of parts that are fixed already, note by note. `bound` is a context from
    which the first part goes on and in which the last part ends: one line in two halves.
    """

    def __init__(
        self,
        joint: Joint,
        slices: Sequence[Slice],
        given: Mapping[int, Sequence[int]] = MappingProxyType({}),
        bound: int | None = None,
    ) -> None:
        self._joint, self._slices, self._bound = joint, tuple(slices), bound
        before: list[Slice | None] = [None, *self._slices[:-1]]
        self._kinds = [kind_of(now, was) for now, was in zip(self._slices, before, strict=True)]
        self._weights = self._weigh({side: iter(tones) for side, tones in given.items()})
        self._after = self._back()
        start = len(joint.rows) - 1 - (joint.manner.chain or 0)
        self.root = _State(0, (bound or 0, *[0] * (len(joint.sides) - 1)), start)
        self.total = float(self._after[0][self._number(None, self.root.contexts), start])

    def _weigh(self, given: Mapping[int, Iterator[int]]) -> list[tuple[Floats | None, ...]]:
        """The weights of each part's ways on in each slice; None where it holds on or rests.

        A part that is given has only the way on to its next tone.
        """
        found = []
        for slice_ in self._slices:
            row: list[Floats | None] = []
            for part, (stroke, struck) in enumerate(
                zip(slice_.strokes, slice_.struck, strict=True)
            ):
                if struck is None:
                    row.append(None)
                elif part in given:
                    tones = self._joint.sides[part].ways(stroke).tone
                    row.append(np.where(tones == next(given[part]), 1.0, 0.0))
                else:
                    row.append(self._joint.weights(part, stroke, struck))
            found.append(tuple(row))
        return found

    def _back(self, *, counted: bool = False) -> list[Floats]:
        """The messages from before the first slice to after the last.

        They are sums of weights, or numbers of settings in whole numbers.
        """
        message = self._end()
        message = message.astype(np.int64).astype(object) if counted else message
        found = [message]
        for number in reversed(range(len(self._slices))):
            kind = self._kinds[number]
            weights = [
                None if row is None else ((row > 0.0).astype(int) if counted else row).tolist()
                for row in self._weights[number]
            ]
            passage = self._joint.passage(self._kind(number - 1), kind)
            found.append(passage.back(found[-1], weights))
        return found[::-1]

    def _kind(self, number: int) -> Kind | None:
        return self._kinds[number] if number >= 0 else None

    def _end(self) -> Floats:
        """The message after the last slice: nothing is needed any more."""
        joint, states = self._joint, self._joint.states(self._kind(len(self._slices) - 1))
        message: Floats = np.zeros((states.size + 1, len(joint.rows) + 1))
        done = np.array([not any(needed) for *needed, _ in joint.rows] + [False])
        ends: Places = np.arange(states.size)
        if self._bound is not None:
            every = [np.arange(len(each)) for each in joint.contexts]
            ends = np.unique(self._numbers(states, [*every[:-1], np.array([self._bound])]))
        message[np.ix_(ends, np.flatnonzero(done))] = 1.0
        message[-1] = 0.0
        return message

    def _numbers(self, states: Blocks, contexts: Sequence[Places]) -> Places:
        """The numbers of states, shape: contexts of each part."""
        known = list(zip(self._joint.contexts, contexts, strict=True))
        tones = on_axes([each.tone[row] for each, row in known])
        return states.numbers(tones, on_axes([each.place[row] for each, row in known]))

    def _number(self, kind: Kind | None, contexts: Sequence[int]) -> int:
        rows = [np.array([context]) for context in contexts]
        return int(self._numbers(self._joint.states(kind), rows).item())

    @property
    def size(self) -> int:
        """The exact number of settings; slow where there are many states."""
        number = self._number(None, self.root.contexts)
        return int(self._back(counted=True)[0][number, self.root.row])

    def choices(self, state: tuple[object, ...]) -> list[Choice]:
        """The tones that may sound next, with the weight of all that can follow."""
        assert isinstance(state, _State)
        if state.slice == len(self._slices):
            return []
        joint, kind = self._joint, self._kinds[state.slice]
        table = joint.table(kind)
        ways = [each.ways_from(at) for each, at in zip(table.arcs, state.contexts, strict=True)]
        arcs = [each.arc[row] for each, row in zip(table.arcs, ways, strict=True)]
        masses, pattern = table.at(arcs)
        for row, weights in zip(on_axes(ways), self._weights[state.slice], strict=True):
            masses = masses if weights is None else masses * weights[row]
        to = [each.to[row] for each, row in zip(table.arcs, arcs, strict=True)]
        rows = joint.after[state.row][pattern]
        states = self._numbers(joint.states(kind), to)
        masses = masses * self._after[state.slice + 1][states, rows]
        some = np.nonzero(masses > 0.0)
        labels = _side_by_side(_sung(table, ways), some)
        after = zip(_side_by_side(to, some), rows[some].tolist(), strict=True)
        return [
            (label, mass, _State(state.slice + 1, contexts, row))
            for label, mass, (contexts, row) in zip(
                labels, masses[some].tolist(), after, strict=True
            )
        ]

    def tones(self, labels: Sequence[Label]) -> tuple[int, ...]:
        """The tones of all parts, slice by slice, as places in each side's list."""
        return tuple(tone for label in labels if isinstance(label, tuple) for tone in label)

    def labels(self, tones: Sequence[int]) -> tuple[Label, ...] | None:
        """The labels that give these tones, None where no setting has them."""
        parts = len(self._joint.sides)
        labels = tuple(tuple(tones[p : p + parts]) for p in range(0, len(tones), parts))
        return labels if leads_through(self, labels) else None

    def slice_by_slice(self, rows: Sequence[Sequence[int]]) -> list[int]:
        """The tones of all parts slice by slice, from those of each part's notes in order."""
        found: list[int] = []
        now = [0] * len(rows)
        notes = [iter(row) for row in rows]
        for slice_ in self._slices:
            for side, struck in enumerate(slice_.struck):
                if struck is not None:
                    now[side] = next(notes[side])
            found += now
        return found

    def parts(self, tones: Sequence[int]) -> tuple[tuple[int, ...], ...]:
        """The tones of each part's notes in order, without what is held."""
        count = len(self._joint.sides)
        return tuple(
            tuple(
                tones[number * count + side]
                for number, slice_ in enumerate(self._slices)
                if slice_.struck[side] is not None
            )
            for side in range(count)
        )


def _sung(table: Table, ways: Sequence[Places]) -> list[Places]:
    return [each.tones_of(row) for each, row in zip(table.arcs, ways, strict=True)]


def _side_by_side(rows: Sequence[Places], cells: Sequence[Places]) -> Iterator[tuple[int, ...]]:
    """What each part has in each of some cells of the table that they span."""
    chosen = (row[cell].tolist() for row, cell in zip(rows, cells, strict=True))
    return zip(*chosen, strict=True)
