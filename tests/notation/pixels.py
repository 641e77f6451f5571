"""A painted page as numbers: where is ink, where are the staves."""

from __future__ import annotations

import io
from dataclasses import dataclass

import numpy as np
from PIL import Image

_INK = 96  # a grey darker than this is ink on paper


def pixels(png: bytes) -> np.ndarray:
    """Red, green, blue and alpha of every pixel, rows first."""
    return np.asarray(Image.open(io.BytesIO(png)).convert("RGBA"))


def ink(png: bytes) -> np.ndarray:
    """Whether each pixel is ink, on a light ground."""
    return pixels(png)[:, :, :3].max(axis=2) < _INK


@dataclass(frozen=True)
class Staff:
    """Five lines in pixels: `lines` are their middles from the top, `left` where they begin."""

    lines: tuple[float, ...]
    left: int

    @property
    def height(self) -> float:
        return self.lines[-1] - self.lines[0]

    def position(self, y: float) -> float:
        """Steps of the staff above the bottom line: 0 a line, 1 a space."""
        return (self.lines[-1] - y) / (self.height / 8)


def staves(png: bytes) -> list[Staff]:
    """Find all staves from top to bottom by their long lines."""
    dark = ink(png)
    half = dark.shape[1] // 2
    rows = [y for y in range(dark.shape[0]) if _longest_run(dark[y]) > half]
    lines: list[list[int]] = []
    for y in rows:
        if lines and y - lines[-1][-1] == 1:
            lines[-1].append(y)
        else:
            lines.append([y])
    assert lines and len(lines) % 5 == 0, f"{len(lines)} long lines are no staves"
    middles = [(group[0] + group[-1]) / 2 for group in lines]
    lefts = [min(_run_start(dark[y]) for y in group) for group in lines]
    return [
        Staff(lines=tuple(middles[n : n + 5]), left=min(lefts[n : n + 5]))
        for n in range(0, len(middles), 5)
    ]


def _runs(row: np.ndarray) -> list[tuple[int, int]]:
    edges = np.flatnonzero(np.diff(np.concatenate(([0], row.astype(np.int8), [0]))))
    return [(int(a), int(b)) for a, b in zip(edges[::2], edges[1::2], strict=True)]


def _longest_run(row: np.ndarray) -> int:
    return max((end - start for start, end in _runs(row)), default=0)


def _run_start(row: np.ndarray) -> int:
    return max(_runs(row), key=lambda run: run[1] - run[0])[0]
