"""Drawing without replacement: a walk down the choices that never ends where one ended before.

Lines that were read form a tree; each of its states knows which share of its weight is still
unread. A state outside the tree is unread as a whole, a finished line in it has no share left, and
in between shares are sums of positive numbers, so a share is 0 exactly when everything was read.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import fsum
from random import Random

from bot.music.lines import Choice, Label, Lines, State


class _Read:
    """A state on the way of some line that was read."""

    def __init__(self) -> None:
        self.after: dict[Label, _Read] = {}
        self.share = 0.0


class Unread:
    """The lines over one rhythm that were not read yet."""

    def __init__(self, lines: Lines, read: Iterable[Sequence[Label]] = ()) -> None:
        self._lines = lines
        self._tree = _Read()
        self.read = 0
        for labels in read:
            self._enter(labels)
        if self.read:
            self._tree.share = self._share(self._tree, lines.root)
        else:
            self._tree.share = 1.0

    @property
    def share(self) -> float:
        """Which share of the weight of all lines is unread, 0 to 1."""
        return self._tree.share if self._lines.total > 0.0 else 0.0

    def _enter(self, labels: Sequence[Label]) -> None:
        state = self._tree
        for label in labels:
            state = state.after.setdefault(label, _Read())
        self.read += 1

    def _share(self, read: _Read, state: State) -> float:
        choices = self._lines.choices(state)
        if not choices:
            return 0.0
        unread = 0.0
        for label, mass, after in choices:
            inner = read.after.get(label)
            if inner is None:
                unread += mass
            else:
                inner.share = self._share(inner, after)
                unread += mass * inner.share
        return unread / fsum(mass for _, mass, _ in choices)

    def draw(self, random: Random) -> tuple[int, ...]:
        """The tones of a line that was not read, with its exact probability among those."""
        assert self.share > 0.0, "everything was read"
        state, read = self._lines.root, self._tree if self.read else None
        labels: list[Label] = []
        while choices := self._lines.choices(state):
            label, _, state = _pick(choices, read, random)
            labels.append(label)
            read = read.after.get(label) if read else None
        return self._lines.tones(labels)


def _pick(choices: Sequence[Choice], read: _Read | None, random: Random) -> Choice:
    masses = [mass for _, mass, _ in choices]
    if read is not None:
        masses = [
            mass * (read.after[label].share if label in read.after else 1.0)
            for label, mass, _ in choices
        ]
    aim = random.random() * fsum(masses)
    picked = None
    for choice, mass in zip(choices, masses, strict=True):
        if mass > 0.0:
            picked = choice
            aim -= mass
            if aim < 0.0:
                break
    assert picked is not None
    return picked
