"""Display floors: no count that points at a few singers is shown."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """A class's counts as they may be shown; None for a figure that stays hidden."""

    total: int | None
    parts: Mapping[str, int | None]


def shown_counts(counts: Mapping[str, int], least: int) -> Shown:
    """Hide a total under the floor, and parts of one to `least` less one.

    Where one part alone would be hidden it could be reckoned from the total, so the smallest of
    the others is hidden with it.

    >>> shown_counts({"steady": 9, "bumpy": 2, "not_yet": 0}, 5).parts
    {'steady': 9, 'bumpy': None, 'not_yet': None}
    """
    total = sum(counts.values())
    if total < least:
        return Shown(total=None, parts=dict.fromkeys(counts))
    hidden = {name for name, count in counts.items() if 0 < count < least}
    if len(hidden) == 1:
        others = [name for name in counts if name not in hidden]
        hidden.add(min(others, key=lambda name: counts[name]))
    return Shown(
        total=total,
        parts={name: None if name in hidden else count for name, count in counts.items()},
    )
