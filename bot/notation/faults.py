"""Faults of a score as they are found, each with measure and beat as the score's own page says."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction

from bot.errors import Fault

_MOST = 40
_PARTS_OF_A_BEAT = {
    Fraction(1, 4): "¼",
    Fraction(1, 2): "½",
    Fraction(3, 4): "¾",
    Fraction(1, 3): "⅓",
    Fraction(2, 3): "⅔",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """A place in a score: the part's label (empty where there is one part), measure and beat.

    `measure` is the number that the file gives it, `count` its place among the part's measures;
    `beat` counts felt beats from 1.
    """

    part: str
    measure: str
    count: int
    beat: Fraction | None = None

    def __str__(self) -> str:
        words = [self.part] if self.part else []
        words.append(f"measure {self.measure}")
        if self.beat is not None:
            words.append(f"beat {mixed(self.beat)}")
        return ", ".join(words)


def mixed(number: Fraction) -> str:
    """Write a number as musicians read it, such as `2½`."""
    whole, rest = divmod(number, 1)
    if rest == 0:
        return str(whole)
    sign = _PARTS_OF_A_BEAT.get(rest, f" {rest}")
    return f"{whole or ''}{sign}".strip()


@dataclass(slots=True)
class FaultList:
    """Faults as they are found; the same kind of fault counts once in a measure of a part."""

    _found: list[tuple[Spot | None, Fault]] = field(default_factory=list)
    _seen: set[tuple[str, int, str]] = field(default_factory=set)

    def add(self, place: Spot | str, problem: str, remedy: str) -> None:
        """Note a fault."""
        spot = place if isinstance(place, Spot) else None
        if spot:
            seen = (spot.part, spot.count, problem)
            if seen in self._seen:
                return
            self._seen.add(seen)
        self._found.append((spot, Fault(place=str(place), problem=problem, remedy=remedy)))

    def __bool__(self) -> bool:
        return bool(self._found)

    def told(self, file: str) -> list[Fault]:
        """Return what to tell: first what concerns the whole, then measure by measure.

        Of very many only the first are told, and how many more there are.
        """
        ordered = [fault for _, fault in sorted(self._found, key=_order)]
        more = len(ordered) - _MOST
        if more > 0:
            rest = Fault(place=file, problem=f"and {more} more faults", remedy="mend these first")
            ordered = [*ordered[:_MOST], rest]
        return ordered


def _order(found: tuple[Spot | None, Fault]) -> tuple[int, Fraction]:
    spot, _ = found
    return (0, Fraction(0)) if spot is None else (spot.count, spot.beat or Fraction(0))
