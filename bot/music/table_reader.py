"""Reads values out of TOML tables and gathers what is wrong instead of stopping at it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from enum import StrEnum
from typing import TypeVar

from bot.errors import Fault
from bot.music.toml_lines import Table

_T = TypeVar("_T")
_E = TypeVar("_E", bound=StrEnum)


class TableReader:
    """Every method returns a usable value and adds to `faults` where the text has none."""

    def __init__(self) -> None:
        self.faults: list[Fault] = []

    def fault(self, place: str, problem: str, remedy: str) -> None:
        """Note something wrong."""
        self.faults.append(Fault(place=place, problem=problem, remedy=remedy))

    def only(self, table: Table, *keys: str) -> None:
        """Note every key that does not belong to the table."""
        for key in table.values:
            if key not in keys:
                self.fault(table.at(key), f"{key!r} means nothing here", f"one of {_list(keys)}")

    def text(self, table: Table, key: str) -> str:
        """A text that is not empty."""
        value = table.values.get(key)
        if not isinstance(value, str) or not value.strip():
            self.fault(table.at(key), f"{key} is {_shown(value)}", "write a text in quotes")
            return ""
        return value

    def whole(
        self, table: Table, key: str, *, least: int, default: int | None = None
    ) -> int | None:
        """A whole number; None after noting the fault."""
        value = table.values.get(key, default)
        if type(value) is not int or (value < least and value != default):
            remedy = f"a whole number, {least} or more"
            self.fault(table.at(key), f"{key} is {_shown(value)}", remedy)
            return None
        return value

    def number(self, table: Table, key: str, *, default: float) -> float:
        """A number above 0."""
        value = table.values.get(key, default)
        if type(value) not in (int, float) or not 0 < float(str(value)) <= 100:
            self.fault(table.at(key), f"{key} is {_shown(value)}", "a number above 0, at most 100")
            return default
        return float(str(value))

    def flag(self, table: Table, key: str) -> bool:
        """`true` or `false`; false where it is missing."""
        value = table.values.get(key, False)
        if not isinstance(value, bool):
            self.fault(table.at(key), f"{key} is {_shown(value)}", "true or false")
        return value is True

    def strings(self, table: Table, key: str) -> tuple[str, ...]:
        """A list of texts; empty where it is missing."""
        value = table.values.get(key, [])
        if not isinstance(value, list) or not all(isinstance(word, str) for word in value):
            self.fault(table.at(key), f"{key} is {_shown(value)}", "a list of texts in quotes")
            return ()
        return tuple(value)

    def table(self, table: Table, key: str) -> Mapping[str, object]:
        """A table in braces."""
        value = table.values.get(key)
        if not isinstance(value, dict):
            self.fault(table.at(key), f"{key} is {_shown(value)}", "a table in braces")
            return {}
        return value

    def choice(self, table: Table, key: str, members: type[_E]) -> _E | None:
        """A member of an enum by its value."""
        value = table.values.get(key)
        if not isinstance(value, str) or value not in list(members):
            self.fault(table.at(key), f"{key} is {_shown(value)}", f"one of {_list(members)}")
            return None
        return members(value)

    def parsed(self, table: Table, key: str, text: str, parse: Callable[[str], _T]) -> _T | None:
        """What a parser makes of a text that is not empty; its ValueError becomes a fault."""
        if not text:
            return None
        try:
            return parse(text)
        except ValueError as error:
            self.fault(table.at(key), str(error), f"mend {key}")
            return None

    def words(self, table: Table, key: str, parse: Callable[[str], _T]) -> tuple[_T, ...]:
        """Words between blanks, each parsed."""
        found = [self.parsed(table, key, word, parse) for word in self.text(table, key).split()]
        return tuple(value for value in found if value is not None)

    def start(self, table: Table, pitch: tuple[str, ...]) -> str:
        """The pitch step from which a table holds."""
        step = self.text(table, "from")
        if step and step not in pitch:
            self.fault(table.at("from"), f"no pitch step {step!r}", f"one of {_list(pitch)}")
        return step


def _shown(value: object) -> str:
    return "missing" if value is None else repr(value)


def _list(words: Iterable[str]) -> str:
    return ", ".join(str(word) for word in words)
