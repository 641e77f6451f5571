"""Faults of a score as they are found, each with measure and beat as the score's own page says."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction

from bot.errors import Fault

_MOST = 40
_PARTS_OF_A_BEAT = {Fraction(1, 4): "¼", Fraction(1, 2): "½", Fraction(3, 4): "¾"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """A place in a score: the part's label (empty where there is one part), measure and beat.

    `measure` is the number that the file gives it; `beat` counts felt beats from 1.
    """

    part: str
    measure: str
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
    """Faults in the order found; the same kind of fault counts once in a measure of a part."""

    faults: list[Fault] = field(default_factory=list)
    _seen: set[tuple[str, str, str]] = field(default_factory=set)

    def add(self, place: Spot | str, problem: str, remedy: str) -> None:
        """Note a fault."""
        if isinstance(place, Spot):
            seen = (place.part, place.measure, problem)
            if seen in self._seen:
                return
            self._seen.add(seen)
        self.faults.append(Fault(place=str(place), problem=problem, remedy=remedy))

    def told(self, file: str) -> list[Fault]:
        """Return what to tell: all faults, or the first ones and how many more there are."""
        more = len(self.faults) - _MOST
        if more <= 0:
            return self.faults
        return [*self.faults[:_MOST], Fault(place=file, problem=f"{more} more faults like these")]
