"""When everything in a clip happens. A frame is a fixed part of a beat, so nothing falls between.

Pure. Times are whole frames; the frame rate follows from the tempo and lies near twelve a second.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from math import ceil

from bot.media.request import ClipRequest

_NEAR_FPS = 12
_QUIET_S = 0.4  # before the first sound, and between the sounds
_AGAIN_S = 5  # the page stands there once more


class Scene(StrEnum):
    """What is seen, in order."""

    KEY = "key"
    START = "start"
    COUNT = "count"
    SING = "sing"
    AWAY = "away"
    AGAIN = "again"


@dataclass(frozen=True, slots=True, kw_only=True)
class Shot:
    """One picture from frame `first` on; `beat` is the figure that is marked, from 1, or None."""

    first: int
    scene: Scene
    beat: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ClipPlan:
    """A clip in frames of `1 / fps` seconds.

    `clicks` are (frame, first of its measure). `key_at` and `start_at` are where the sounds begin,
    `start_at` None where the note is to be found from do.
    """

    fps: Fraction
    per_beat: int
    frames: int
    shots: tuple[Shot, ...]
    clicks: tuple[tuple[int, bool], ...]
    key_at: int
    start_at: int | None
    line_at: int
    curtain_at: int

    def seconds(self, frame: int) -> float:
        """When a frame begins."""
        return float(frame / self.fps)

    @property
    def length_s(self) -> float:
        """Length in seconds."""
        return self.seconds(self.frames)


def clip_plan(request: ClipRequest, key_s: float, start_s: float) -> ClipPlan:
    """Lay out a clip whose key sounds for `key_s` and whose starting note for `start_s` seconds.

    ValueError for a curtain that does not fall within the line.
    """
    exercise, metre = request.exercise, request.exercise.metre
    pulses = exercise.length / metre.pulse
    if not 0 <= request.curtain < pulses:
        raise ValueError(f"the curtain at beat {request.curtain} of {pulses}: within the line")
    per_beat = 4 * max(1, round(_NEAR_FPS * 60 / request.tempo_bpm / 4))
    fps = Fraction(request.tempo_bpm * per_beat, 60)

    def after(frame: int, seconds: float) -> int:
        return frame + ceil(seconds * fps)

    key_at = after(0, _QUIET_S)
    start_at = after(key_at, key_s + _QUIET_S) if request.gives_pitch else None
    count_at = after(key_at, key_s + 2 * _QUIET_S)
    if start_at is not None:
        count_at = after(start_at, start_s + _QUIET_S)
    counted = metre.pulses * metre.count_in_measures - exercise.pickup / metre.pulse
    line_at = count_at + int(counted * per_beat)
    end = line_at + int(pulses * per_beat)
    curtain_at = line_at + int(request.curtain * per_beat)
    beats = _beats(count_at, end, per_beat, metre.pulses, line_at, curtain_at)
    opening = [Shot(first=0, scene=Scene.KEY)]
    if start_at is not None:
        opening.append(Shot(first=start_at, scene=Scene.START))
    return ClipPlan(
        fps=fps,
        per_beat=per_beat,
        frames=after(end, _AGAIN_S),
        shots=(*opening, *beats, Shot(first=end, scene=Scene.AGAIN)),
        clicks=tuple(
            (frame, number % metre.pulses == 0)
            for number, frame in enumerate(range(count_at, line_at, per_beat))
        ),
        key_at=key_at,
        start_at=start_at,
        line_at=line_at,
        curtain_at=curtain_at,
    )


def _beats(
    count_at: int, end: int, per_beat: int, pulses: int, line_at: int, curtain_at: int
) -> Iterator[Shot]:
    """A shot for every beat, and one more where line or curtain begin within a beat."""
    changes = sorted({*range(count_at, end, per_beat), line_at, curtain_at})
    for frame in changes:
        beat = (frame - count_at) // per_beat % pulses + 1
        scene = Scene.AWAY if frame >= curtain_at else Scene.SING
        yield Shot(first=frame, scene=Scene.COUNT if frame < line_at else scene, beat=beat)
