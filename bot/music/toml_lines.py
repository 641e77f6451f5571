"""TOML tables that know their lines, so that a fault can say where it stands.

`tomllib` gives values without places. Sequence files use plain tables, arrays of tables and one key
a line, so the lines of headers and keys are found by reading the text once more.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass

from bot.errors import Fault, InputProblems

_HEADER = re.compile(r"\s*\[{1,2}\s*([\w.-]+)\s*\]{1,2}")
_KEY = re.compile(r"\s*(?:\"([^\"]*)\"|([\w-]+))\s*=")
_LONG_QUOTES = ('"""', "'''")
_AT_LINE = re.compile(r"at line (\d+)")


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """One table with the places of its header and keys, written `file:line`."""

    values: Mapping[str, object]
    place: str
    places: Mapping[str, str]

    def at(self, key: str) -> str:
        """Where a key stands; the table's own place for a key that is missing."""
        return self.places.get(key, self.place)


@dataclass(frozen=True, slots=True, kw_only=True)
class Document:
    """A whole file: what stands before the first header, single tables, arrays of tables.

    Tables in a table of an array (`[[scene.path]]`) are one more array, `scene.path`, in the order
    of the file.
    """

    top: Table
    tables: Mapping[str, Table]
    arrays: Mapping[str, tuple[Table, ...]]


def read_toml(text: str, file: str) -> Document:
    """Parse a file; InputProblems with the line where it is no TOML."""
    try:
        tree = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        line = _AT_LINE.search(str(error))
        place = f"{file}:{line[1]}" if line else file
        raise InputProblems([Fault(place=place, problem=f"no TOML: {error}")]) from error
    except RecursionError as error:
        raise InputProblems([Fault(place=file, problem="is nested too deep")]) from error
    places = _places(text, file)
    start: tuple[str, dict[str, str]] = (f"{file}:1", {})
    top: dict[str, object] = {}
    tables: dict[str, Table] = {}
    arrays: dict[str, tuple[Table, ...]] = {}
    for name, value in tree.items():
        if isinstance(value, dict) and (name, 0) in places:
            tables[name] = _table(value, places[name, 0])
        elif isinstance(value, list) and (name, 0) in places:
            arrays[name] = tuple(
                _table(row, places.get((name, number), start)) for number, row in enumerate(value)
            )
            arrays |= _inner_arrays(name, value, places, start)
        else:
            top[name] = value
    return Document(top=_table(top, places["", 0]), tables=tables, arrays=arrays)


def _inner_arrays(
    name: str,
    rows: list[object],
    places: Mapping[tuple[str, int], tuple[str, dict[str, str]]],
    start: tuple[str, dict[str, str]],
) -> dict[str, tuple[Table, ...]]:
    """The arrays of tables inside the tables of an array."""
    found: dict[str, list[Table]] = {}
    for row in rows:
        for key, inner in row.items() if isinstance(row, dict) else ():
            dotted = f"{name}.{key}"
            if not isinstance(inner, list) or (dotted, 0) not in places:
                continue
            tables = found.setdefault(dotted, [])
            for values in inner:
                tables.append(_table(values, places.get((dotted, len(tables)), start)))
    return {dotted: tuple(tables) for dotted, tables in found.items()}


def _table(values: Mapping[str, object], place: tuple[str, Mapping[str, str]]) -> Table:
    return Table(values=values, place=place[0], places=place[1])


def _places(text: str, file: str) -> dict[tuple[str, int], tuple[str, dict[str, str]]]:
    """(table, number of its kind) -> (place of the header, places of the keys)."""
    here: dict[str, str] = {}
    places = {("", 0): (f"{file}:1", here)}
    inside = False  # a text of several lines
    for number, line in enumerate(text.splitlines(), start=1):
        place = f"{file}:{number}"
        within, inside = inside, inside ^ (sum(map(line.count, _LONG_QUOTES)) % 2 == 1)
        if within:
            continue
        if header := _HEADER.match(line):
            here = {}
            count = sum(1 for name, _ in places if name == header[1])
            places[header[1], count] = (place, here)
        elif key := _KEY.match(line):
            here.setdefault(key[1] if key[1] is not None else key[2], place)
    return places
