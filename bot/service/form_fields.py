"""Fields of a form, read one by one: each gives a value, or notes a fault and gives its default."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date, time
from enum import StrEnum
from typing import TypeVar

from bot.errors import Fault
from bot.wording import Wording

_TIME = re.compile(r"(\d{1,2}):(\d{2})(?::00)?")  # some browsers add seconds
Choice = TypeVar("Choice", bound=StrEnum)
Parsed = TypeVar("Parsed")


class FormFields:
    """Reads what was typed; `faults` holds all that is wrong, with the field's name as place.

    A field that is missing or empty takes its default, or is a fault where there is none.
    """

    def __init__(self, form: Mapping[str, Sequence[str]], say: Wording) -> None:
        self._form = form
        self.say = say
        self.faults: list[Fault] = []

    def fault(self, name: str, problem: str) -> None:
        """Note something wrong with a field."""
        self.faults.append(Fault(place=name, problem=problem))

    def given(self, name: str) -> bool:
        """Whether anything was typed or chosen."""
        return bool(self.all(name))

    def all(self, name: str) -> tuple[str, ...]:
        """Every value of a field that may be chosen several times, empty ones left out."""
        return tuple(value.strip() for value in self._form.get(name, ()) if value.strip())

    def text(self, name: str, default: str = "") -> str:
        """What was typed, without spaces around it."""
        values = self.all(name)
        return values[-1] if values else default

    def short_text(self, name: str, limit: int, default: str = "") -> str:
        """One line of at most `limit` characters; a fault where it is longer."""
        text = " ".join(self.text(name, default).split())
        if len(text) > limit:
            self.fault(name, self.say("choir.fault.long", count=limit))
        return text[:limit]

    def one_of(self, name: str, kinds: type[Choice], default: Choice) -> Choice:
        """A member of an enum by its value."""
        return self.parsed(name, kinds, default, self.say("choir.fault.choice"))

    def some_of(self, name: str, kinds: type[Choice]) -> tuple[Choice, ...]:
        """Members of an enum by their values, in the enum's order."""
        chosen = self.all(name)
        known = {kind.value for kind in kinds}
        if set(chosen) - known:
            self.fault(name, self.say("choir.fault.choice"))
        return tuple(kind for kind in kinds if kind.value in chosen)

    def word(self, name: str, words: Sequence[str]) -> str:
        """One of some words, the first of which is the default."""
        text = self.text(name, words[0])
        if text not in words:
            self.fault(name, self.say("choir.fault.choice"))
            return words[0]
        return text

    def yes(self, name: str, *, default: bool) -> bool:
        """A choice of `yes` and `no`."""
        return self.word(name, ("yes", "no") if default else ("no", "yes")) == "yes"

    def whole(self, name: str, least: int, most: int, default: int | None) -> int | None:
        """A whole number between two limits."""

        def parse(text: str) -> int:
            number = int(text)
            if not least <= number <= most:
                raise ValueError(number)
            return number

        problem = self.say("choir.fault.whole", least=least, most=most)
        return self.parsed(name, parse, default, problem)

    def number(self, name: str, least: float, most: float, default: float) -> float:
        """A number between two limits; a comma may stand for the point."""

        def parse(text: str) -> float:
            number = float(text.replace(",", "."))
            if not least <= number <= most:
                raise ValueError(number)
            return number

        problem = self.say("choir.fault.number", least=f"{least:g}", most=f"{most:g}")
        return self.parsed(name, parse, default, problem)

    def wholes(self, name: str, numbers: Iterable[int]) -> frozenset[int]:
        """Every number that was chosen out of some."""
        known = {str(number): number for number in numbers}
        chosen = self.all(name)
        if set(chosen) - set(known):
            self.fault(name, self.say("choir.fault.choice"))
        return frozenset(known[text] for text in chosen if text in known)

    def day(self, name: str, default: date | None) -> date | None:
        """A date as browsers send it."""
        return self.parsed(name, date.fromisoformat, default, self.say("choir.fault.date"))

    def time(self, name: str, default: time | None) -> time | None:
        """A time of day, 8:05 or 08:05."""

        def parse(text: str) -> time:
            match = _TIME.fullmatch(text)
            if match is None:
                raise ValueError(text)
            return time(int(match[1]), int(match[2]))

        return self.parsed(name, parse, default, self.say("choir.fault.time"))

    def parsed(
        self, name: str, parse: Callable[[str], Parsed], default: Parsed, problem: str
    ) -> Parsed:
        """Whatever `parse` makes of the text; a fault where it raises ValueError."""
        text = self.text(name)
        if not text:
            return default
        try:
            return parse(text)
        except ValueError:
            self.fault(name, problem)
            return default
