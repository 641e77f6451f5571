"""A published criterion from its TOML file: a `Criteria`, or every fault at once with its line.

The format stands at the head of `content/criteria/maine.toml`.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date
from types import MappingProxyType

from bot.errors import InputProblems
from bot.music.cell import Cell, CellNote, cell_notes
from bot.music.criteria import Criteria, Reads, Task, anywhere
from bot.music.exercise import Tone
from bot.music.pitch import Key, Pitch
from bot.music.rhythm import Metre
from bot.music.sequence import Skip
from bot.music.syllable import tone_of
from bot.music.table_reader import TableReader
from bot.music.toml_lines import Document, Table, read_toml
from bot.music.voice import Voice

VERSION = 1
_TOP = (
    "id", "version", "title", "body", "source", "dated", "read_on", "span", "study_s", "ranges",
    "open",
)  # fmt: skip
_TASK = (
    "id", "name", "reads", "measures", "metres", "keys", "cells", "values", "tones", "skips",
    "triads", "intervals", "start", "end", "skips_on_beat", "skips_from", "alike", "half_cadence",
    "full_cadence",
)  # fmt: skip
_ID = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")
_INTERVALS = {"third": 2, "fourth": 3, "fifth": 4, "sixth": 5, "octave": 7}


def parse_criteria(text: str, file: str) -> Criteria:
    """Read a criteria file; InputProblems lists every fault with `file:line` and what is right."""
    document = read_toml(text, file)
    reader = TableReader()
    top = document.top
    reader.only(top, *_TOP)
    if reader.whole(top, "version", least=1) not in (VERSION, None):
        reader.fault(top.at("version"), "unknown version", f"this release reads {VERSION}")
    for name in {*document.tables, *document.arrays} - {"task"}:
        table = document.tables.get(name) or document.arrays[name][0]
        reader.fault(table.place, f"[{name}] means nothing here", "a reading is a [[task]]")
    if "task" not in document.arrays:
        reader.fault(top.place, "[[task]] is missing", "write one for each reading")
    criteria = _criteria(document, reader)
    if reader.faults or criteria is None:
        raise InputProblems(reader.faults)
    return criteria


def _criteria(document: Document, reader: TableReader) -> Criteria | None:
    top = document.top
    criteria_id = reader.text(top, "id")
    if criteria_id and not _ID.fullmatch(criteria_id):
        reader.fault(top.at("id"), f"id is {criteria_id!r}", "small letters, figures and hyphens")
    tasks = tuple(_task(table, reader) for table in document.arrays.get("task", ()))
    seen: set[str] = set()
    for task, table in zip(tasks, document.arrays.get("task", ()), strict=True):
        if task.id in seen:
            reader.fault(table.at("id"), f"a second reading {task.id!r}", "give each its own id")
        seen.add(task.id)
    read_on = top.values.get("read_on")
    if type(read_on) is not date:
        reader.fault(top.at("read_on"), "read_on is no date", "write for example 2026-11-28")
        read_on = date.min
    return Criteria(
        id=criteria_id,
        title=reader.text(top, "title"),
        body=reader.text(top, "body"),
        source=reader.text(top, "source"),
        dated=reader.text(top, "dated"),
        read_on=read_on,
        tasks=tasks,
        ranges=_ranges(top, reader),
        span=_optional(top, "span", reader),
        study_s=_optional(top, "study_s", reader),
        open=reader.strings(top, "open"),
    )


def _optional(table: Table, key: str, reader: TableReader) -> int | None:
    return reader.whole(table, key, least=1) if key in table.values else None


def _ranges(top: Table, reader: TableReader) -> Mapping[Voice, tuple[Pitch, Pitch]]:
    found = {}
    for voice, text in _by_voice(top, "ranges", reader).items():
        limits = reader.parsed(top, "ranges", text, _limits)
        if limits is not None:
            found[voice] = limits
    return MappingProxyType(found)


def _limits(text: str) -> tuple[Pitch, Pitch]:
    low, _, high = text.partition("-")
    limits = Pitch.parse(low), Pitch.parse(high)
    if limits[0].midi >= limits[1].midi:
        raise ValueError(f"{text!r} is no range: the lower note first, such as C4-C5")
    return limits


def _by_voice(table: Table, key: str, reader: TableReader) -> dict[Voice, str]:
    """A table in braces from voices to texts; empty where it is missing."""
    if key not in table.values:
        return {}
    found = {}
    for name, text in reader.table(table, key).items():
        if name not in list(Voice) or not isinstance(text, str):
            remedy = f"a text for each of {', '.join(Voice)}"
            reader.fault(table.at(key), f"{name} = {text!r} in {key}", remedy)
        else:
            found[Voice(name)] = text
    return found


def _task(table: Table, reader: TableReader) -> Task:
    reader.only(table, *_TASK)
    metres = reader.words(table, "metres", Metre.parse)
    texts = reader.strings(table, "cells")
    if not texts:
        reader.fault(table.at("cells"), "cells is missing", "what lines are composed from")
    parsed = [(text, reader.parsed(table, "cells", text, cell_notes)) for text in texts]
    cells = tuple(
        anywhere(Cell(text=text, notes=notes, beats=()), metres) for text, notes in parsed if notes
    )
    return Task(
        id=reader.text(table, "id"),
        name=reader.text(table, "name"),
        reads=reader.choice(table, "reads", Reads) or Reads.MELODY,
        measures=reader.whole(table, "measures", least=1) or 1,
        metres=metres,
        cells=cells,
        keys=_keys(table, reader),
        values=_values(table, reader),
        tones=_tones(table, "tones", reader),
        skips=_skips(table, reader),
        triads=tuple(
            frozenset(tone.step % 7 for tone in chord)
            for text in reader.strings(table, "triads")
            if (chord := reader.parsed(table, "triads", text, _chord))
        ),
        intervals=tuple(
            size
            for text in reader.strings(table, "intervals")
            if (size := reader.parsed(table, "intervals", text, _interval))
        ),
        start=_tones(table, "start", reader),
        end=_tones(table, "end", reader),
        skips_on_beat=reader.flag(table, "skips_on_beat"),
        skips_from=_optional(table, "skips_from", reader) or 1,
        alike=tuple(
            pair
            for text in reader.strings(table, "alike")
            if (pair := reader.parsed(table, "alike", text, _pair))
        ),
        half_cadence=_optional(table, "half_cadence", reader),
        full_cadence=reader.flag(table, "full_cadence"),
    )


def _keys(table: Table, reader: TableReader) -> Mapping[Voice, tuple[Key, ...]]:
    found = {}
    for voice, text in _by_voice(table, "keys", reader).items():
        keys = [reader.parsed(table, "keys", word, Key.parse) for word in text.split()]
        found[voice] = tuple(key for key in keys if key is not None)
    return MappingProxyType(found)


def _values(table: Table, reader: TableReader) -> tuple[CellNote, ...] | None:
    if "values" not in table.values:
        return None
    found = [reader.parsed(table, "values", word, cell_notes)
             for word in reader.text(table, "values").split()]  # fmt: skip
    return tuple(note for notes in found if notes for note in notes)


def _tones(table: Table, key: str, reader: TableReader) -> tuple[Tone, ...] | None:
    return reader.words(table, key, tone_of) if key in table.values else None


def _skips(table: Table, reader: TableReader) -> tuple[Skip, ...] | None:
    """The skips by name; none at all by `skips = []`; no limit where no key names any."""
    if not {"skips", "triads", "intervals"} & set(table.values):
        return None
    found = [reader.parsed(table, "skips", text, _skip) for text in reader.strings(table, "skips")]
    return tuple(skip for skip in found if skip is not None)


def _skip(text: str) -> Skip:
    one, dash, other = text.partition("-")
    if not dash:
        raise ValueError(f"{text!r} is no skip: two tones such as do-mi")
    low, high = sorted((tone_of(one), tone_of(other)))
    if high.step - low.step < 2:
        raise ValueError(f"{text!r} is no skip: its tones are neighbours")
    return low, high


def _chord(text: str) -> tuple[Tone, ...]:
    tones = tuple(tone_of(word) for word in text.split())
    if len(tones) < 2:
        raise ValueError(f"{text!r} is no chord: write for example do mi so")
    return tones


def _interval(text: str) -> int:
    if text not in _INTERVALS:
        raise ValueError(f"{text!r} is no interval here: one of {', '.join(_INTERVALS)}")
    return _INTERVALS[text]


def _pair(text: str) -> tuple[int, int]:
    one, same, other = text.partition("=")
    if not (same and one.strip().isdigit() and other.strip().isdigit()):
        raise ValueError(f"{text!r} is no pair of measures: write for example 1 = 5")
    return int(one), int(other)
