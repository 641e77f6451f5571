"""The rules of the match as a file: `content/match/rules.toml`, and a house's own over it."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Mapping
from types import MappingProxyType

from bot.activities.match_rules import (
    LENGTHS,
    LONGEST_NAME,
    SECONDS,
    WHOLE,
    Breach,
    CardWhen,
    Ending,
    Rules,
    Stand,
    breaches,
)
from bot.errors import InputProblems
from bot.music.table_reader import TableReader
from bot.music.toml_lines import Table, read_toml

FORMAT = 1
_NAMES = ("left", "right")
_KEYS = ("format", *WHOLE, "study", "stand", "ending", "card", *_NAMES)
_LINE = re.compile(r"(?m)^(\w+) = .*$")


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


def write_rules(rules: Rules, documented: str) -> str:
    """The rules in the words of a documented file: its comments, with these values in their lines.

    `documented` has a line for every key; `parse_rules` reads the text back as these rules.
    """
    values = _values(rules)
    return _LINE.sub(lambda line: f"{line[1]} = {values.get(line[1], FORMAT)}", documented)


def _values(rules: Rules) -> dict[str, str]:
    numbers = {name: getattr(rules, name) for name in WHOLE if not name.startswith("group")}
    numbers |= {"group_least": rules.group[0], "group_most": rules.group[1]}
    study = ", ".join(f"{length} = {seconds}" for length, seconds in sorted(rules.study.items()))
    texts = {name: getattr(rules, name) for name in ("stand", "ending", "card", *_NAMES)}
    return {
        **{name: str(number) for name, number in numbers.items()},
        "study": f"{{ {study} }}",
        **{name: _quoted(str(text)) for name, text in texts.items()},
    }


def _quoted(text: str) -> str:
    """A TOML text in quotes: one of JSON, but for the one character that JSON lets pass."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def _read(table: Table, reader: TableReader) -> Rules:
    if table.values.get("format") != FORMAT:
        reader.fault(table.at("format"), "is no format of ours", f"format = {FORMAT}")
    whole = {name: _whole(table, name, reader) for name in WHOLE}
    rules = Rules(
        **{name: number for name, number in whole.items() if not name.startswith("group")},
        group=(whole["group_least"], whole["group_most"]),
        study=_study(table, reader),
        stand=reader.choice(table, "stand", Stand) or Stand.COUNTED,
        ending=reader.choice(table, "ending", Ending) or Ending.JOINT,
        card=reader.choice(table, "card", CardWhen) or CardWhen.END,
        left=_name(table, "left", reader),
        right=_name(table, "right", reader),
    )
    if not reader.faults:
        for key, breach in breaches(rules).items():
            reader.fault(table.at(key), *_told(breach, rules))
    return rules


def _whole(table: Table, name: str, reader: TableReader) -> int:
    least, most = WHOLE[name]
    number = reader.whole(table, name, least=least) or 0
    if number > most:
        reader.fault(table.at(name), f"{name} is {number}", f"{most} at most")
    return number


def _name(table: Table, name: str, reader: TableReader) -> str:
    text = reader.text(table, name)
    if len(text) > LONGEST_NAME:
        reader.fault(table.at(name), f"{name} is {text!r}", f"at most {LONGEST_NAME} characters")
    return text


def _study(table: Table, reader: TableReader) -> Mapping[int, int]:
    given = table.values.get("study")
    remedy = "for example { 4 = 20, 8 = 30 }: seconds by measures"
    if not isinstance(given, dict) or not given:
        reader.fault(table.at("study"), f"study is {given!r}", remedy)
        return {}
    found = {}
    for measures, seconds in given.items():
        known = measures.isdecimal() and int(measures) in LENGTHS
        if not known or type(seconds) is not int or not SECONDS[0] <= seconds <= SECONDS[1]:
            reader.fault(table.at("study"), f"study has {measures} = {seconds!r}", remedy)
        else:
            found[int(measures)] = seconds
    return MappingProxyType(found)


def _told(breach: Breach, rules: Rules) -> tuple[str, str]:
    """Problem and remedy of rules that do not go together."""
    match breach:
        case Breach.PHRASES:
            return "more phrases than measures", "at most one a measure"
        case Breach.NEARLY:
            return "nearly brings more than read", f"at most {rules.read}"
        case Breach.GOOD:
            return "no reading could be good", f"at most {rules.most}"
        case Breach.AIM:
            remedy = f"less than {rules.most}, what a line brings: music outweighs aim"
            return f"throws is {rules.throws}", remedy
        case Breach.GROUP:
            return "is more than group_most", f"at most {rules.group[1]}"
        case Breach.NAMES:
            return "both sides have one name", "give each its own"
