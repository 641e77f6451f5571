"""Lines that lean on what they have sung: each tone is likelier or less likely by its traits.

`LeantLines` walk through the same choices as the lines that they wrap, and lean each one by what
was sung before it (leanings.py). No line is lost and none is won; the chance of each is still the
product of the chances of its choices. How much each trait counts is in `weights.py`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from functools import cache, lru_cache
from math import exp

from bot.music.endings import End, end_traits
from bot.music.leanings import Leanings, Sung, reaches
from bot.music.lines import Choice, Label, Lines, State
from bot.music.rhythm import Metre
from bot.music.shapes import turns
from bot.music.skeleton import Skeleton
from bot.music.weights import LEAN

_KNOWN = 8192  # sums that are kept, enough for a few levels
_DIGITS, _LEAST = 9, 1e-6
_PARTS = 100  # weights have two decimals: whole hundredths add up exactly, in any order
_Parts = tuple[tuple[int, int], ...]  # steps with what speaks for them

_LEAN = {name: round(weight * _PARTS) for name, weight in LEAN.items()}


@cache
def _factor(parts: int) -> float:
    return max(round(exp(parts / _PARTS), _DIGITS), _LEAST)


def _summed(traits: Iterable[tuple[str, int]]) -> _Parts:
    """What speaks for each step or against it, by the traits that it has."""
    sums: dict[int, int] = {}
    for name, step in traits:
        sums[step] = sums.get(step, 0) + _LEAN.get(name, 0)
    return tuple((step, parts) for step, parts in sums.items() if parts)


@lru_cache(maxsize=_KNOWN)
def _reaching(top: int, bottom: int, last: int, steps: tuple[int, ...]) -> _Parts:
    """What speaks for steps by the highest and lowest tone before them, and the last one."""
    return _summed(reaches(top, bottom, last, steps))


@lru_cache(maxsize=_KNOWN)
def _resting(near: tuple[End, ...], last: int, steps: tuple[int, ...]) -> _Parts:
    """What speaks for steps near some ends, after a last step."""
    return _summed(end_traits(near, last, steps))


@lru_cache(maxsize=_KNOWN)
def _turning(last_three: tuple[int, ...], steps: tuple[int, ...]) -> _Parts:
    """What speaks for steps by the turns that they end."""
    return _summed(turns(last_three, steps))


class LeantLines:
    """The lines of others, each choice of a tone leant by what was sung before it.

    A state is one of these lines, what was sung before the last choice, and the step that it chose.
    `steps` are the scale steps above the tonic of the table's tones; `copied` is how many notes of
    the first phrase these lines copy at the start of the second.
    """

    def __init__(
        self, lines: Lines, skeleton: Skeleton, metre: Metre, steps: Sequence[int], copied: int = 0
    ) -> None:
        self.inner, self._copied = lines, copied
        self._steps: Mapping[Label, int] = dict(enumerate(steps))
        self._distinct = tuple(dict.fromkeys(steps))
        self._seam = skeleton.phrase_ends[0] if copied else 0
        self._leanings = Leanings(skeleton, metre)
        self.total = lines.total
        self.root: State = (lines.root, Sung(), None)

    def choices(self, state: State) -> Sequence[Choice]:
        """The choices of the lines, each with its weight up to a factor of the state."""
        inner, sung, step = state
        assert isinstance(inner, tuple)
        assert isinstance(sung, Sung)
        found = self.inner.choices(inner)
        if not found:
            return found
        if isinstance(step, int):
            sung = self._sing(sung, step)
        parts, steps = self._leant(sung), self._steps
        leant: list[Choice] = []
        for label, mass, after in found:
            step = steps.get(label[0] if isinstance(label, tuple) else label)
            if step is not None:
                mass *= _factor(parts[step])
            leant.append((label, mass, (after, sung, step)))
        return leant

    def _leant(self, sung: Sung) -> Mapping[int, int]:
        """What speaks for each step; only differences count."""
        past = sung.steps
        if not past:
            return dict.fromkeys(self._distinct, 0)
        sums = dict.fromkeys(self._distinct, 0)
        for step, parts in _reaching(sung.top, sung.bottom, past[-1], self._distinct):
            sums[step] += parts
        near = self._leanings.endings.near.get(len(past))
        if near:
            for step, parts in _resting(near, past[-1], self._distinct):
                sums[step] += parts
        for name, step in self._leanings.echoes(sung):
            if step in sums:
                sums[step] += _LEAN.get(name, 0)
        if len(past) > 2:
            for step, parts in _turning(past[-3:], self._distinct):
                sums[step] += parts
        return sums

    def _sing(self, sung: Sung, step: int) -> Sung:
        """One note more, and where the second phrase copies the first, its copied notes."""
        sung = self._leanings.sing(sung, step)
        if self._copied and len(sung.steps) == self._seam:
            for each in sung.steps[: self._copied]:
                sung = self._leanings.sing(sung, each)
        return sung

    def tones(self, labels: Sequence[Label]) -> tuple[int, ...]:
        """The tones of a finished line."""
        return self.inner.tones(labels)

    def labels(self, tones: Sequence[int]) -> tuple[Label, ...] | None:
        """The choices that give these tones, None where no line has them in this shape."""
        return self.inner.labels(tones)
