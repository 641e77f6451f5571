"""Figures, taken on the machine at hand: `python -m tests.bench [NAME ...]`.

Every `bench_<name>.py` has a function `run() -> dict[str, float]`: what was done, and the median of
several runs in seconds. The first line of a bench is what its other lines are compared with, in the
same run on the same machine. A line whose name ends with `[MB]` holds megabytes, one that ends with
`[x]` a multiple of something that the bench names itself.
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable


def median_s(work: Callable[[], object], runs: int = 10) -> float:
    """Median time of a piece of work in seconds, after one run that does not count."""
    work()
    taken = []
    for _ in range(runs):
        before = time.perf_counter()
        work()
        taken.append(time.perf_counter() - before)
    return statistics.median(taken)
