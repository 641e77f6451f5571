"""A sequence of steps from its TOML file: a `Sequence`, or every fault at once with its line."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction
from types import MappingProxyType

from bot.errors import InputProblems
from bot.music.cell import Cell, cell_notes
from bot.music.pitch import Key, Mode
from bot.music.rhythm import Metre
from bot.music.sequence import Form, Interval, KeyOrder, Rules, Sequence, Step, Track
from bot.music.step_elements import Known, element_of
from bot.music.step_lines import conditions_of, high_points
from bot.music.step_order import ORDER, VARIANT, in_order, orders_of
from bot.music.table_reader import TableReader
from bot.music.toml_lines import Document, Table, read_toml

VERSION = 1
_STEP_ID = re.compile(r"[prv]\d\d")
_LETTER = {Track.PITCH: "p", Track.RHYTHM: "r", Track.VOICE: "v"}
_TABLES, _ARRAYS = ("keys", "metres", "rules"), ("line", "form", "cell", "step")
_MINOR_KEYS, _FROM_SIXTEENTHS = "minor_keys", "from_sixteenths"


def parse_sequence(text: str, file: str) -> Sequence:
    """Read a sequence file; InputProblems lists every fault with `file:line` and what is right."""
    return parse_sequences(text, file)[0]


def parse_sequences(text: str, file: str) -> tuple[Sequence, ...]:
    """The sequence of a file, then its variants; raises as `parse_sequence` does."""
    document = read_toml(text, file)
    reader = TableReader()
    top = document.top
    reader.only(top, "id", "title", "version")
    if reader.whole(top, "version", least=1) not in (VERSION, None):
        reader.fault(top.at("version"), "unknown version", f"this release reads {VERSION}")
    missing = [name for name in _TABLES if name not in document.tables]
    missing += [name for name in _ARRAYS if name not in document.arrays]
    for name in missing:
        reader.fault(top.place, f"[{name}] is missing", "see content/sequences/steps-first.toml")
    known = {*_TABLES, *_ARRAYS, _MINOR_KEYS, ORDER, VARIANT}
    for name in {*document.tables, *document.arrays} - known:
        table = document.tables.get(name) or document.arrays[name][0]
        reader.fault(table.place, f"[{name}] means nothing here", "check its spelling")
    if missing:
        raise InputProblems(reader.faults)
    sequences = tuple(
        _sequence(document, named, order, reader) for named, order in orders_of(document, reader)
    )
    if reader.faults:
        raise InputProblems(sorted(dict.fromkeys(reader.faults), key=_line))
    return sequences


def _line(fault: object) -> int:
    digits = re.search(r":(\d+):", f"{fault}:")
    return int(digits[1]) if digits else 0


def _sequence(
    document: Document, named: Table, order: Table | None, reader: TableReader
) -> Sequence:
    """A sequence with the id and title of a table, its steps in an order."""
    cells = _cells(document.arrays["cell"], reader)
    tables = in_order(document.arrays["step"], order, reader)
    steps = _steps(tables, cells, reader)
    pitch = tuple(step.id for step in steps if step.track is Track.PITCH)
    metres = tuple(
        (metre, reader.whole(document.tables["metres"], name, least=1) or 1)
        for name in document.tables["metres"].values
        if (metre := reader.parsed(document.tables["metres"], name, name, Metre.parse))
    )
    conditions = conditions_of(document.arrays["line"], pitch, reader)
    sequence = Sequence(
        id=reader.text(named, "id"),
        title=reader.text(named, "title"),
        steps=steps,
        keys=_keys(document, reader),
        rules=_rules(document.tables["rules"], reader),
        metres=metres,
        conditions=conditions,
        forms=_forms(document.arrays["form"], pitch, reader),
    )
    if not reader.faults:
        _modes(sequence, tables, reader)
        high_points(sequence, document.arrays["line"], reader)
    return sequence


def _keys(document: Document, reader: TableReader) -> Mapping[Mode, KeyOrder]:
    tables = {Mode.MAJOR: document.tables["keys"]}
    if _MINOR_KEYS in document.tables:
        tables[Mode.MINOR] = document.tables[_MINOR_KEYS]
    found = {}
    for mode, table in tables.items():
        reader.only(table, "treble", "low", "mixed")
        orders = {}
        for name in ("treble", "low", "mixed"):
            orders[name] = reader.words(table, name, Key.parse)
            for key in orders[name]:
                if key.mode is not mode:
                    reader.fault(table.at(name), f"{key} is not in {mode}", f"keys in {mode}")
        found[mode] = KeyOrder(**orders)
    return MappingProxyType(found)


def _modes(sequence: Sequence, tables: tuple[Table, ...], reader: TableReader) -> None:
    """Where a mode is new its lines are described, and there are keys for it."""
    for table, step in zip(tables, sequence.steps, strict=True):
        mode = step.element.mode
        if mode and sequence.conditions_at(step).mode is not mode:
            remedy = f'write a [[line]] with from = "{step.id}" and mode = "{mode}"'
            reader.fault(table.place, f"lines of {step.id} are not in {mode}", remedy)
    if any(c.mode not in sequence.keys for _, c in sequence.conditions):
        reader.fault(tables[0].place, f"[{_MINOR_KEYS}] is missing", "lines in minor need keys")


def _rules(table: Table, reader: TableReader) -> Rules:
    flags = ("free_leaps", "free_measures")
    reader.only(table, "equal_notes", "same_cell", "colours", *flags, _FROM_SIXTEENTHS)
    widest = None
    if _FROM_SIXTEENTHS in table.values:
        widest = reader.choice(table, _FROM_SIXTEENTHS, Interval)
    return Rules(
        equal_notes=reader.whole(table, "equal_notes", least=1) or 1,
        same_cell=reader.whole(table, "same_cell", least=1) or 1,
        colours=reader.whole(table, "colours", least=0) or 0,
        free_leaps=reader.flag(table, "free_leaps"),
        free_measures=reader.flag(table, "free_measures"),
        from_sixteenths=widest,
    )


def _cells(tables: tuple[Table, ...], reader: TableReader) -> dict[str, Cell]:
    cells: dict[str, Cell] = {}
    for table in tables:
        reader.only(table, "notes", "beats", "weight", "in_a_row")
        text = reader.text(table, "notes")
        notes = reader.parsed(table, "notes", text, cell_notes) or ()
        weight = reader.number(table, "weight", default=1.0)
        in_a_row = reader.whole(table, "in_a_row", least=1, default=4) or 4
        cell = Cell(text=text, notes=notes, beats=(), weight=weight, in_a_row=in_a_row)
        if text in cells:
            reader.fault(table.at("notes"), f"the cell {text!r} stands here twice", "keep one")
        cells[text] = replace(cell, beats=_beats(table, cell, reader))
    return cells


def _beats(
    table: Table, cell: Cell, reader: TableReader
) -> tuple[tuple[Metre, tuple[Fraction, ...]], ...]:
    found = []
    for name, beats in reader.table(table, "beats").items():
        metre = reader.parsed(table, "beats", name, Metre.parse)
        if metre is None:
            continue
        if not isinstance(beats, list) or not all(type(beat) in (int, float) for beat in beats):
            remedy = "a list of beats such as [1, 3] or [1, 1.5]"
            reader.fault(table.at("beats"), f"{beats!r} in {name}", remedy)
            continue
        beats = [Fraction(beat).limit_denominator(12) for beat in beats]
        for beat in beats:
            if beat < 1 or (beat - 1) * metre.pulse + cell.duration > metre.measure:
                problem = f"{cell.text!r} does not fit into {name} from beat {float(beat):g} on"
                reader.fault(table.at("beats"), problem, "leave that beat out")
        found.append((metre, tuple(beats)))
    return tuple(found)


def _steps(
    tables: tuple[Table, ...], cells: dict[str, Cell], reader: TableReader
) -> tuple[Step, ...]:
    steps: list[Step] = []
    known = Known(cells=cells)
    for table in tables:
        reader.only(table, "id", "track", "name", "adds", "focus", "plain", "requires", "apart")
        step_id = reader.text(table, "id")
        track = reader.choice(table, "track", Track) or Track.PITCH
        if not _STEP_ID.fullmatch(step_id) or step_id[0] != _LETTER[track]:
            remedy = f"the letter {_LETTER[track]} and two figures"
            reader.fault(table.at("id"), f"{step_id!r} is no id in the {track} track", remedy)
        earlier = [step for step in steps if step.track is track]
        if step_id in {step.id for step in earlier}:
            reader.fault(table.at("id"), f"{step_id!r} stands here twice", "each id once")
        requires = reader.strings(table, "requires")
        known.enter(track, step_id, plain=reader.flag(table, "plain"))
        steps.append(
            Step(
                id=step_id,
                track=track,
                name=reader.text(table, "name"),
                element=element_of(table, known, reader),
                focus=reader.whole(table, "focus", least=1, default=1 if earlier else 0) or 0,
                requires=requires,
                apart=_apart(table, reader),
            )
        )
    ids = {step.id for step in steps}
    for table in tables:
        for other in reader.strings(table, "requires"):
            if other not in ids:
                reader.fault(table.at("requires"), f"no step {other!r}", "name a step of this file")
    for track in Track:
        if not any(step.track is track for step in steps):
            reader.fault(tables[0].place, f"no step in the {track} track", "every track has one")
    return tuple(steps)


def _apart(table: Table, reader: TableReader) -> bool:
    apart = reader.flag(table, "apart")
    if apart and "cells" not in reader.table(table, "adds"):
        reader.fault(table.at("apart"), "only cells come apart", "leave it out")
    return apart


def _forms(
    tables: tuple[Table, ...], pitch: tuple[str, ...], reader: TableReader
) -> tuple[tuple[str, Form], ...]:
    found = []
    for table in tables:
        reader.only(table, "from", "letters", "weight", "copied")
        letters = reader.text(table, "letters")
        form = Form(
            letters=letters,
            weight=reader.whole(table, "weight", least=1) or 1,
            copied=reader.whole(table, "copied", least=0, default=0) or 0,
        )
        half = len(letters) // 2
        if len(letters) not in (4, 8):
            reader.fault(table.at("letters"), f"{len(letters)} letters", "one a measure, 4 or 8")
        elif form.copied >= half or letters[: form.copied] != letters[half : half + form.copied]:
            remedy = "copied measures have the same letters in both halves, and not all of them"
            reader.fault(table.at("copied"), f"copied = {form.copied} in {letters!r}", remedy)
        found.append((reader.start(table, pitch), form))
    for length in sorted({form.measures for _, form in found}):
        if not any(form.free for _, form in found if form.measures == length):
            problem = f"no form of {length} measures has all letters different"
            reader.fault(tables[0].place, problem, "add one, such as abcd")
    return tuple(found)
