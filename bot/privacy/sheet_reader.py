"""Reads the keys of one JSON object strictly and gathers every fault with its place."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date
from enum import StrEnum
from typing import TypeVar

from bot.errors import Fault, InputProblems

_Choice = TypeVar("_Choice", bound=StrEnum)
_NEVER = date.min
# `date.fromisoformat` also reads weeks and digits of other scripts; a sheet has one way.
_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_DIGITS = re.compile(r"[0-9]{1,20}")


class _Missing:
    """Stands in for a key that is not there; no reader of a value takes it for one."""

    def __repr__(self) -> str:
        return "(missing)"


_MISSING = _Missing()


def _plain(item: str) -> bool:
    return bool(item.strip()) and item.isprintable() and len(item) <= 80


class SheetReader:
    """One object of a sheet. Ask for every key once, then `close` raises what was wrong.

    A value that is wrong is noted and stands in as something harmless until then.
    """

    def __init__(
        self,
        tree: Mapping[str, object],
        file: str,
        path: str = "",
        faults: list[Fault] | None = None,
    ) -> None:
        self._tree = tree
        self._file = file
        self._path = path
        self._faults: list[Fault] = [] if faults is None else faults
        self._asked: set[str] = set()
        self._parts: list[SheetReader] = []

    def close(self) -> None:
        """Raise InputProblems where anything was wrong, keys that nobody asked for included."""
        self._note_unknown()
        if self._faults:
            raise InputProblems(self._faults)

    def fault(self, key: str, problem: str, remedy: str = "") -> None:
        """Note something wrong with a key."""
        place = f"{self._file}: {self._path}{key}"
        self._faults.append(Fault(place=place, problem=problem, remedy=remedy))

    def text(self, key: str, *, most: int) -> str:
        """A text that is not empty, of at most so many characters."""
        value = self._take(key)
        if isinstance(value, str) and value.strip() and len(value) <= most and value.isprintable():
            return value.strip()
        self.fault(key, f"{value!r:.60} is no line of text of 1 to {most} characters")
        return ""

    def digits(self, key: str) -> str:
        """An id of decimal digits, kept as text."""
        value = self._take(key)
        if isinstance(value, str) and _DIGITS.fullmatch(value):
            return value
        self.fault(key, f"{value!r:.60} is no id", "digits in quotation marks")
        return ""

    def country(self, key: str) -> str:
        """A country by its two letters, as ISO 3166 has them."""
        value = self._take(key)
        if isinstance(value, str) and re.fullmatch("[A-Z]{2}", value):
            return value
        self.fault(key, f"{value!r:.60} is no country", "two capital letters such as US")
        return ""

    def texts(self, key: str, *, most: int) -> list[str]:
        """A list of different texts, not empty, at most so many."""
        value = self._take(key)
        if (
            isinstance(value, list)
            and 0 < len(value) <= most
            and all(isinstance(item, str) and _plain(item) for item in value)
            and len(set(value)) == len(value)
        ):
            return list(value)
        self.fault(key, f"{value!r:.60} is no list of 1 to {most} different texts")
        return []

    def truth(self, key: str) -> bool:
        """True or false."""
        value = self._take(key)
        if isinstance(value, bool):
            return value
        self.fault(key, f"{value!r:.60} is neither true nor false")
        return False

    def whole(self, key: str, least: int, most: int) -> int:
        """A whole number between two others."""
        value = self._take(key)
        if isinstance(value, int) and not isinstance(value, bool) and least <= value <= most:
            return value
        self.fault(key, f"{value!r:.60} is no whole number from {least} to {most}")
        return least

    def day(self, key: str) -> date:
        """A date written YYYY-MM-DD."""
        value = self._take(key)
        if isinstance(value, str) and _DAY.fullmatch(value):
            try:
                return date.fromisoformat(value)
            except ValueError:
                pass
        self.fault(key, f"{value!r:.60} is no date", "YYYY-MM-DD")
        return _NEVER

    def one_of(self, key: str, choices: type[_Choice], otherwise: _Choice) -> _Choice:
        """One of the values of an enum."""
        value = self._take(key)
        for choice in choices:
            if value == choice.value:
                return choice
        names = ", ".join(choice.value for choice in choices)
        self.fault(key, f"{value!r:.60} is not allowed", f"one of {names}")
        return otherwise

    def some_of(self, key: str, choices: type[_Choice]) -> list[_Choice]:
        """A list of different values of an enum; it may be empty."""
        value = self._take(key)
        known = {choice.value: choice for choice in choices}
        if (
            isinstance(value, list)
            and all(isinstance(v, str) and v in known for v in value)
            and len(set(value)) == len(value)
        ):
            return [known[v] for v in value]
        remedy = f"a list from {', '.join(known)}, each once at most"
        self.fault(key, f"{value!r:.60} is not allowed", remedy)
        return []

    def part(self, key: str) -> SheetReader:
        """The object under a key."""
        value = self._take(key)
        if not isinstance(value, dict):
            self.fault(key, f"{value!r:.60} is no object")
            return SheetReader({}, self._file, f"{self._path}{key}.", [])
        part = SheetReader(value, self._file, f"{self._path}{key}.", self._faults)
        self._parts.append(part)
        return part

    def optional_part(self, key: str) -> SheetReader | None:
        """The object under a key, None where the key says null."""
        if key in self._tree and self._tree[key] is None:
            self._asked.add(key)
            return None
        return self.part(key)

    def _take(self, key: str) -> object:
        self._asked.add(key)
        return self._tree.get(key, _MISSING)

    def _note_unknown(self) -> None:
        for key in self._tree:
            if key not in self._asked:
                self.fault(key, "an unknown key", "take it out")
        for part in self._parts:
            part._note_unknown()
