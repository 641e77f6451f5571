"""Reads a story file: TOML, format 1, every fault at once with its line.

    format = 1
    title = "The lantern on the hill"
    about = "A lantern has gone out; the class walks up to light it again."
    grades = [5, 6]                  # whom the texts are for
    voices = ["treble", "treble"]    # the highest first; two alike are two parts of one voice
    sequence = "steps-first"         # an order of steps; this one where it is left out
    steps = ["p04", "r04"]           # what the lines read
    key = "F"                        # or nothing: the composer chooses
    metre = "4/4"                    # the same
    measures = 4                     # of every line; 4 where it is left out
    finale = 2                       # lines that sound together at an ending: 1, 2, 3, "new part"
    start = "gate"

    [[scene]]
    id = "gate"
    text = \"\"\"The gate is shut. An owl looks down.\"\"\"
    sing = "O-pen, gate, the night is cold"
    way = "echo"                     # a value of `Way`; syllables where it is left out
    key = "G"                        # where it differs from the story's
    stop = true                      # a good place to stop for today
    letters = "KEY F. |d :r !m :- ||"   # or abc = "...", or file = "gate.musicxml"

    [[scene.path]]
    label = "Knock softly"
    syllable = "mi"                  # do re mi fa so la ti, so, (low), do' (high)
    next = "garden"

A scene without paths is an ending; it may have a `finale` of its own and, with "new part", name in
`against` the scene whose line the part goes with.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping

from bot.activities.story import (
    FORMAT,
    Finale,
    Notation,
    Path,
    Scene,
    Story,
    SungLine,
    Way,
    WrittenMusic,
)
from bot.errors import Fault, InputProblems
from bot.music.pitch import Key
from bot.music.rhythm import Metre
from bot.music.syllable import tone_of
from bot.music.table_reader import TableReader
from bot.music.toml_lines import Document, Table, read_toml
from bot.music.voice import Voice

DEFAULT_SEQUENCE = "steps-first"
NEW_PART = "new part"
_TOP = (
    "format", "title", "about", "grades", "voices", "sequence", "steps", "key", "metre", "measures",
    "finale", "start",
)  # fmt: skip
_SCENE = ("id", "text", "sing", "way", "key", "stop", "finale", "against", "path", *Notation)
_PATH = ("label", "syllable", "next")
_ID = re.compile(r"[a-z][a-z0-9]*(-[a-z0-9]+)*")
_GRADES = range(1, 13)
_PARTS = (1, 2, 3)
_VOICES = 3


def parse_story(text: str, file: str, story_id: str) -> Story:
    """Read a story; InputProblems with every fault as `file:line`.

    What the file says is taken as it stands: whether scenes exist, paths end and so on is for
    `story_check.check_story`.
    """
    document = read_toml(text, file)
    reader = TableReader()
    story = _story(document, reader, file, story_id)
    if reader.faults or story is None:
        raise InputProblems(sorted(reader.faults, key=_line))
    return story


def _line(fault: Fault) -> int:
    number = fault.place.rpartition(":")[2]
    return int(number) if number.isdigit() else 0


def _story(document: Document, reader: TableReader, file: str, story_id: str) -> Story | None:
    top = document.top
    reader.only(top, *_TOP)
    for name in (*document.tables, *document.arrays):
        if name not in ("scene", "scene.path"):
            reader.fault(_where(document, name), f"[{name}] means nothing here", "[[scene]]")
    if top.values.get("format") != FORMAT:
        shown = top.values.get("format", "missing")
        reader.fault(top.at("format"), f"format is {shown}", f"this release reads format {FORMAT}")
    scenes = tuple(_scenes(document, reader))
    if not scenes:
        reader.fault(f"{file}:1", "there is no scene", "write a [[scene]] with an id and a text")
    measures = reader.whole(top, "measures", least=1, default=4)
    return Story(
        id=story_id,
        title=reader.text(top, "title").strip(),
        about=_optional(reader, top, "about"),
        grades=_grades(reader, top),
        voices=_voices(reader, top),
        sequence=_optional(reader, top, "sequence") or DEFAULT_SEQUENCE,
        steps=reader.strings(top, "steps") or _missing_steps(reader, top),
        start=reader.text(top, "start").strip(),
        scenes=scenes,
        key=_key(reader, top),
        metre=reader.parsed(top, "metre", _optional(reader, top, "metre"), Metre.parse),
        measures=measures or 4,
        finale=_finale(reader, top) or Finale(),
        place=f"{file}:1",
        places=top.places,
    )


def _where(document: Document, name: str) -> str:
    table = document.tables.get(name)
    return table.place if table else document.arrays[name][0].place


def _missing_steps(reader: TableReader, top: Table) -> tuple[str, ...]:
    if "steps" not in top.values:
        reader.fault(top.at("steps"), "steps is missing", 'write for example ["p04", "r04"]')
    return ()


def _scenes(document: Document, reader: TableReader) -> Iterator[Scene]:
    paths = iter(document.arrays.get("scene.path", ()))
    for table in document.arrays.get("scene", ()):
        written = table.values.get("path")
        own = [next(paths, table) for _ in written] if isinstance(written, list) else []
        if written is not None and not isinstance(written, list):
            reader.fault(table.at("path"), "path is no list of tables", "write [[scene.path]]")
        yield _scene(table, own, reader)


def _scene(table: Table, paths: list[Table], reader: TableReader) -> Scene:
    reader.only(table, *_SCENE)
    return Scene(
        id=_id(reader, table, "id"),
        text=paragraphs(reader.text(table, "text")),
        line=_sung(reader, table),
        key=_key(reader, table),
        paths=tuple(_path(each, reader) for each in paths),
        stop=reader.flag(table, "stop"),
        finale=_finale(reader, table),
        place=table.place,
        places=table.places,
    )


def _path(table: Table, reader: TableReader) -> Path:
    reader.only(table, *_PATH)
    tone = reader.parsed(table, "syllable", reader.text(table, "syllable"), tone_of)
    return Path(
        label=reader.text(table, "label").strip(),
        syllable=tone or tone_of("do"),
        next=_id(reader, table, "next"),
        place=table.place,
    )


def _sung(reader: TableReader, table: Table) -> SungLine | None:
    written = [
        WrittenMusic(notation=notation, text=text, place=table.at(notation))
        for notation in Notation
        if (text := _optional(reader, table, notation))
    ]
    for extra in written[1:]:
        problem = f"{extra.notation} beside {written[0].notation}"
        reader.fault(extra.place, problem, "a scene has one line: keep one of them")
    words = " ".join(_optional(reader, table, "sing").split())
    way = reader.choice(table, "way", Way) if "way" in table.values else Way.SYLLABLES
    if not words and not written:
        if "way" in table.values:
            reader.fault(table.at("way"), "a way of singing without a line", "write sing = ...")
        return None
    place = table.at("sing") if words else written[0].place
    return SungLine(
        words=words, music=written[0] if written else None, way=way or Way.SYLLABLES, place=place
    )


def _finale(reader: TableReader, table: Table) -> Finale | None:
    against = _optional(reader, table, "against")
    value = table.values.get("finale")
    if value == NEW_PART:
        return Finale(new_part=True, against=against)
    if against:
        reader.fault(table.at("against"), "against without a new part", f'finale = "{NEW_PART}"')
    if value is None:
        return None
    if type(value) is not int or value not in _PARTS:
        reader.fault(table.at("finale"), f"finale is {value!r}", f'1, 2, 3 or "{NEW_PART}"')
        return None
    return Finale(parts=value)


def _grades(reader: TableReader, top: Table) -> tuple[int, int]:
    value = top.values.get("grades")
    match value:
        case [int(low), int(high)] if low in _GRADES and high in _GRADES and low <= high:
            return low, high
    shown = "missing" if value is None else repr(value)
    reader.fault(top.at("grades"), f"grades is {shown}", "two grades, as in [5, 6]")
    return 5, 6


def _voices(reader: TableReader, top: Table) -> tuple[Voice, ...]:
    named = reader.strings(top, "voices")
    known = [Voice(name) for name in named if name in list(Voice)]
    if not 1 <= len(named) <= _VOICES or len(known) < len(named):
        remedy = f"one to {_VOICES} of {', '.join(Voice)}, the highest first"
        reader.fault(top.at("voices"), f"voices is {', '.join(named) or 'missing'}", remedy)
    elif known != sorted(known, key=list(Voice).index):
        reader.fault(top.at("voices"), "voices out of order", "write the highest voice first")
    return tuple(known)


def _key(reader: TableReader, table: Table) -> Key | None:
    return reader.parsed(table, "key", _optional(reader, table, "key"), Key.parse)


def _id(reader: TableReader, table: Table, key: str) -> str:
    name = reader.text(table, key)
    if name and not _ID.fullmatch(name):
        remedy = "small letters, figures and hyphens, as in old-mill"
        reader.fault(table.at(key), f"{key} is {name!r}", remedy)
    return name


def _optional(reader: TableReader, table: Table, key: str) -> str:
    return reader.text(table, key).strip() if key in table.values else ""


def paragraphs(text: str) -> str:
    r"""A text with its line ends mended: one blank line between paragraphs, blanks within.

    >>> paragraphs("  An owl\n looks down. \n\n\n It waits.")
    'An owl looks down.\n\nIt waits.'
    """
    blocks = (" ".join(block.split()) for block in re.split(r"\n\s*\n", text))
    return "\n\n".join(block for block in blocks if block)


def scene_lines(story: Story) -> Mapping[str, SungLine]:
    """The sung lines of a story by scene id, in the order of the file."""
    return {scene.id: scene.line for scene in story.scenes if scene.line is not None}
