"""The rules of the match as data, read from `content/match/rules.toml` and a house's own file."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from types import MappingProxyType

from bot.errors import InputProblems
from bot.music.table_reader import TableReader
from bot.music.toml_lines import Table, read_toml

FORMAT = 1
MOST_TURNS = 12  # of one side
LENGTHS = (4, 8)  # measures that a line may have


class Side(StrEnum):
    """The two pages of the folder."""

    LEFT = "left"
    RIGHT = "right"

    @property
    def other(self) -> Side:
        """The side across."""
        return Side.RIGHT if self is Side.LEFT else Side.LEFT


class Ending(StrEnum):
    """How a match ends."""

    JOINT = "joint"  # with a line that both sides read, for both
    LAST_TURN = "last turn"


@dataclass(frozen=True, slots=True, kw_only=True)
class Rules:
    """What a house plays by. `study` are seconds by measures of a line; the rest counts points.

    `throws` is how many throws of one turn count at most, `row` the fewest and most singers of one.
    """

    turns: int = 4
    study: Mapping[int, int] = field(default_factory=lambda: MappingProxyType({4: 20, 8: 30}))
    phrases: int = 2
    read: int = 2
    nearly: int = 1
    good: int = 3
    row: tuple[int, int] = (3, 4)
    throws: int = 3
    claims: int = 1
    claim: int = 1
    ending: Ending = Ending.JOINT
    left: str = "Left page"
    right: str = "Right page"

    @property
    def points(self) -> tuple[int, int, int]:
        """What a phrase may bring: not yet, nearly, read."""
        return (0, self.nearly, self.read)

    @property
    def most(self) -> int:
        """What a line brings when every phrase is read."""
        return self.phrases * self.read

    def name(self, side: Side) -> str:
        """What the house calls a side."""
        return self.left if side is Side.LEFT else self.right


_WHOLE = {  # every whole number with its least value
    "turns": 1, "phrases": 1, "read": 1, "nearly": 0, "good": 1, "row_least": 1, "row_most": 1,
    "throws": 0, "claims": 0, "claim": 0,
}  # fmt: skip
_KEYS = ("format", *_WHOLE, "study", "ending", "left", "right")


def parse_rules(texts: Iterable[tuple[str, str]]) -> Rules:
    """Read (text, file) pairs, a later one over the earlier ones, key by key.

    InputProblems with every fault as `file:line`: a key without meaning, a value out of bounds, and
    rules by which aim would outweigh music.
    """
    reader, values, places = TableReader(), dict[str, object](), dict[str, str]()
    last = "rules.toml"
    for text, file in texts:
        document, last = read_toml(text, file), file
        tables = {name: table.values for name, table in document.tables.items()}
        for name in document.arrays:
            reader.fault(f"{file}:1", f"[[{name}]] means nothing here", "write plain lines")
        reader.only(document.top, *_KEYS)
        for key, value in {**tables, **document.top.values}.items():
            values[key], places[key] = value, document.top.at(key)
    table = Table(values=values, place=last, places=places)
    rules = _read(table, reader)
    if reader.faults:
        raise InputProblems(reader.faults)
    return rules


def _read(table: Table, reader: TableReader) -> Rules:
    if table.values.get("format") != FORMAT:
        reader.fault(table.at("format"), "is no format of ours", f"format = {FORMAT}")
    whole = {name: _whole(table, name, least, reader) for name, least in _WHOLE.items()}
    rules = Rules(
        **{name: number for name, number in whole.items() if not name.startswith("row")},
        row=(whole["row_least"], whole["row_most"]),
        study=_study(table, reader),
        ending=_ending(table, reader),
        left=reader.text(table, "left"),
        right=reader.text(table, "right"),
    )
    if not reader.faults:
        _check(rules, table, reader)
    return rules


def _whole(table: Table, name: str, least: int, reader: TableReader) -> int:
    return reader.whole(table, name, least=least) or 0


def _study(table: Table, reader: TableReader) -> Mapping[int, int]:
    given = table.values.get("study")
    remedy = "for example { 4 = 20, 8 = 30 }: seconds by measures"
    if not isinstance(given, dict) or not given:
        reader.fault(table.at("study"), f"study is {given!r}", remedy)
        return {}
    found = {}
    for measures, seconds in given.items():
        known = measures.isdecimal() and int(measures) in LENGTHS
        if not known or type(seconds) is not int or not 5 <= seconds <= 600:
            reader.fault(table.at("study"), f"study has {measures} = {seconds!r}", remedy)
        else:
            found[int(measures)] = seconds
    return MappingProxyType(found)


def _ending(table: Table, reader: TableReader) -> Ending:
    given = table.values.get("ending")
    if given not in tuple(Ending):
        remedy = " or ".join(f'"{each}"' for each in Ending)
        reader.fault(table.at("ending"), f"ending is {given!r}", remedy)
        return Ending.JOINT
    return Ending(str(given))


def _check(rules: Rules, table: Table, reader: TableReader) -> None:
    """What single values cannot show."""
    if rules.turns > MOST_TURNS:
        reader.fault(table.at("turns"), f"turns is {rules.turns}", f"{MOST_TURNS} at most")
    if any(rules.phrases > measures for measures in rules.study):
        reader.fault(table.at("phrases"), "more phrases than measures", "at most one a measure")
    if rules.nearly > rules.read:
        reader.fault(table.at("nearly"), "nearly brings more than read", f"at most {rules.read}")
    if rules.good > rules.most:
        reader.fault(table.at("good"), "no reading could be good", f"at most {rules.most}")
    if rules.throws >= rules.most:
        remedy = f"less than {rules.most}, what a line brings: music outweighs aim"
        reader.fault(table.at("throws"), f"throws is {rules.throws}", remedy)
    if rules.row[0] > rules.row[1]:
        reader.fault(table.at("row_least"), "is more than row_most", f"at most {rules.row[1]}")
    if rules.left.strip() == rules.right.strip():
        reader.fault(table.at("right"), "both sides have one name", "give each its own")
