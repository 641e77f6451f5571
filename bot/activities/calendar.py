"""School days: when a choir meets, and the instant at which a local time falls due."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True, kw_only=True)
class Weekdays:
    """A choir that meets on fixed weekdays; 0 is Monday."""

    days: frozenset[int]


@dataclass(frozen=True, slots=True, kw_only=True)
class Rotation:
    """A choir that meets on some days of a cycle of school days (A/B is a cycle of two).

    `anchor` is a school day that is the first day of the cycle; `meets_on` counts from 1.
    Days without school (weekends, days off) do not move the cycle on.
    """

    length: int
    meets_on: frozenset[int]
    anchor: date


@dataclass(frozen=True, slots=True, kw_only=True)
class Meeting:
    """A meeting pattern less the days that the calendar takes away."""

    pattern: Weekdays | Rotation
    days_off: frozenset[date] = frozenset()
