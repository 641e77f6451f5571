"""The door for files from outside: bytes become an element tree, or are refused.

Nothing of the file is trusted: not its size, not the sizes that a zip archive states, not its
names, not its XML. No entity is ever expanded and nothing outside the bytes is ever opened: a
document type may be named, as notation programs do, but may declare nothing.
"""

from __future__ import annotations

import io
import xml.etree.ElementTree as ET
import zipfile
import zlib
from pathlib import PurePosixPath
from typing import NoReturn
from xml.parsers import expat

from bot.errors import Fault, InputProblems

LIMIT_BYTES = 2 * 1024 * 1024
_DEPTH = 40  # MusicXML nests about ten deep
_FILES = 200  # in a compressed file: the score, pictures, fonts
_CONTAINER = "META-INF/container.xml"
_ZIP = b"PK\x03\x04"
_PLAIN_METHODS = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)
_ENCRYPTED = 0x1


def safe_tree(data: bytes, file: str) -> ET.Element:
    """Parse a MusicXML file, plain or compressed, of at most 2 MiB before and after unpacking.

    InputProblems names `file` and what is wrong with it as a whole.
    """
    if not data.strip():
        _refuse(file, "the file is empty", "save it again from the notation program")
    if len(data) > LIMIT_BYTES:
        _refuse(file, "the file is larger than 2 MiB", "cut out the passage to be read")
    if data.startswith(_ZIP):
        data = _unpacked(data, file)
    return _tree(data, file)


def _refuse(file: str, problem: str, remedy: str = "", cause: Exception | None = None) -> NoReturn:
    raise InputProblems([Fault(place=file, problem=problem, remedy=remedy)]) from cause


def _unpacked(data: bytes, file: str) -> bytes:
    """Return the score inside a compressed file."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            if len(archive.infolist()) > _FILES:
                _refuse(file, f"it packs more than {_FILES} files", "save it as plain MusicXML")
            container = _tree(_member(archive, _CONTAINER, file), file)
            name = next(
                (
                    element.get("full-path", "")
                    for element in container.iter()
                    if element.tag.rpartition(":")[2] == "rootfile"
                ),
                "",
            )
            return _member(archive, name, file)
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, OSError) as error:
        _refuse(file, "the compressed file is damaged", "save it again", error)


def _member(archive: zipfile.ZipFile, name: str, file: str) -> bytes:
    """Read one packed file, never more of it than the limit, whatever size it claims."""
    path = PurePosixPath(name)
    if not name or path.is_absolute() or ".." in path.parts or "\\" in name:
        _refuse(file, f"it names {name!r} as its score", "save it again as MusicXML")
    try:
        info = archive.getinfo(name)
    except KeyError as error:
        _refuse(file, f"it holds no {name}", "save it again as compressed MusicXML (.mxl)", error)
    if info.flag_bits & _ENCRYPTED or info.compress_type not in _PLAIN_METHODS:
        _refuse(file, f"{name} is packed in a way that MusicXML does not use", "save it again")
    with archive.open(info) as packed:
        content = packed.read(LIMIT_BYTES + 1)
    if len(content) > LIMIT_BYTES:
        _refuse(file, "it unpacks to more than 2 MiB", "cut out the passage to be read")
    return content


class _Forbidden(Exception):
    """Something in the XML that this door does not let in."""


def _tree(data: bytes, file: str) -> ET.Element:
    builder = ET.TreeBuilder()
    try:
        _parser(builder).Parse(data, True)
        return builder.close()
    except _Forbidden as error:
        _refuse(file, str(error), "save it again from the notation program", error)
    except (expat.ExpatError, ET.ParseError, ValueError, LookupError) as error:
        if data.lstrip().startswith(b"<?xml") and not _is_utf8(data):
            _refuse(file, "its letters are not UTF-8", "save it again as UTF-8 MusicXML", error)
        _refuse(file, f"it is not XML ({error})", "save it as MusicXML, not as another kind", error)


def _is_utf8(data: bytes) -> bool:
    try:
        data.decode()
    except UnicodeDecodeError:
        return False
    return True


def _parser(builder: ET.TreeBuilder) -> expat.XMLParserType:
    """Return a parser that builds a tree and stops at whatever a score does not need."""
    parser = expat.ParserCreate()
    depth = 0

    def start(tag: str, attributes: dict[str, str]) -> None:
        nonlocal depth
        depth += 1
        if depth > _DEPTH:
            raise _Forbidden(f"its XML is nested more than {_DEPTH} deep")
        builder.start(tag, attributes)

    def end(tag: str) -> None:
        nonlocal depth
        depth -= 1
        builder.end(tag)

    def doctype(name: str, system: str | None, public: str | None, internal: int) -> None:
        if internal:
            raise _Forbidden("its document type declares things of its own")

    def entity(*_: object) -> None:
        raise _Forbidden("it uses entities of its own")

    parser.StartElementHandler = start
    parser.EndElementHandler = end
    parser.CharacterDataHandler = builder.data
    parser.StartDoctypeDeclHandler = doctype
    parser.EntityDeclHandler = entity
    parser.SkippedEntityHandler = entity
    parser.SetParamEntityParsing(expat.XML_PARAM_ENTITY_PARSING_NEVER)
    return parser
