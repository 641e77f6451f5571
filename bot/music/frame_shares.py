"""Choosing a frame by its share, less what a draw has taken out of it.

A level may have thousands of frames, and a draw takes something out of a few of them at most. So
sums of shares are laid up once, and a draw keeps only what it changes.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Sequence
from itertools import accumulate
from random import Random

from bot.music.frames import Frame
from bot.music.rhythms import aim_below

_FINE = 32  # bits below a frame's share, so that a part taken out of it shows


class FrameShares:
    """Frames in their order, and the sum of their shares up to each; no draw changes it."""

    def __init__(self, frames: Sequence[Frame]) -> None:
        self.frames = frames
        self.place = {frame: place for place, frame in enumerate(frames)}
        self.up_to = [*accumulate(frame.share << _FINE for frame in frames)]


class FramesLeft:
    """The frames of one draw."""

    def __init__(self, shares: FrameShares) -> None:
        self._shares = shares
        self._gone: dict[int, int] = {}  # by a frame's place: what was taken out of its share

    def pick(self, random: Random) -> Frame | None:
        """A frame by what is left of its share, as `rhythms.pick` gives it; None where none is."""
        up_to = self._shares.up_to
        total = up_to[-1] - sum(self._gone.values()) if up_to else 0
        if not total:
            return None
        return self._shares.frames[self._place(aim_below(total, random))]

    def _place(self, aim: int) -> int:
        """The first frame up to which there is left more than `aim`."""
        up_to, begin = self._shares.up_to, 0
        for place in sorted(self._gone):
            found = bisect_right(up_to, aim, begin, place)
            if found < place:
                return found
            aim += self._gone[place]
            if up_to[place] > aim:
                return place
            begin = place + 1
        return bisect_right(up_to, aim, begin)

    def keep(self, frame: Frame, rhythms: int, total: int) -> None:
        """Leave a frame so much of its share as `rhythms` are of `total`, by their weights."""
        whole = frame.share << _FINE
        left = max(whole * rhythms // total, 1) if rhythms else 0
        self._gone[self._shares.place[frame]] = whole - left

    def beside(
        self, frame: Frame, alike: Callable[[Frame, Frame], bool]
    ) -> list[tuple[Frame, int]]:
        """The frames like this one with what is left of their shares: they stand side by side."""
        frames, place = self._shares.frames, self._shares.place[frame]
        first, last = place, place
        while first > 0 and alike(frames[first - 1], frame):
            first -= 1
        while last + 1 < len(frames) and alike(frames[last + 1], frame):
            last += 1
        left = [
            (frames[each], (frames[each].share << _FINE) - self._gone.get(each, 0))
            for each in range(first, last + 1)
        ]
        return [(each, mass) for each, mass in left if mass]
