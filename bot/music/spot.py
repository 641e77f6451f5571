"""Places in a text that a person typed."""

from __future__ import annotations

from dataclasses import dataclass

from bot.errors import Fault


@dataclass(frozen=True, slots=True, kw_only=True, order=True)
class Spot:
    """A line and a column of a text, both counted from 1."""

    line: int
    column: int

    def fault(self, problem: str, remedy: str = "") -> Fault:
        """Return a fault at this place."""
        place = f"line {self.line}, column {self.column}"
        return Fault(place=place, problem=problem, remedy=remedy)
