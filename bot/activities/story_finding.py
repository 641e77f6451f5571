"""What a check of a story finds: faults that keep it from being told, and warnings."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from bot.errors import Fault


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One thing found at one place of the file. A `warning` leaves the story sound."""

    fault: Fault
    warning: bool = False

    @property
    def line(self) -> int:
        """The line of the file; 0 where the place has none."""
        number = self.fault.place.rpartition(":")[2]
        return int(number) if number.isdigit() else 0


def fault(place: str, problem: str, remedy: str = "") -> Finding:
    """Something that has to be mended."""
    return Finding(fault=Fault(place=place, problem=problem, remedy=remedy))


def warning(place: str, problem: str, remedy: str = "") -> Finding:
    """Something to think about."""
    return Finding(fault=Fault(place=place, problem=problem, remedy=remedy), warning=True)


def in_order(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """Findings in the order of the file, each once."""
    return tuple(sorted(dict.fromkeys(findings), key=lambda each: (each.line, each.warning)))
