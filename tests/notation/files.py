"""MusicXML as a notation program might save it, in as few words as a test can use."""

from __future__ import annotations

import io
import zipfile

_TYPES = {1: "eighth", 2: "quarter", 3: "quarter", 4: "half", 6: "half", 8: "whole"}
CONTAINER = (
    '<container><rootfiles><rootfile full-path="{path}" '
    'media-type="application/vnd.recordare.musicxml+xml"/></rootfiles></container>'
)


def note(name: str, eighths: int = 2, more: str = "") -> str:
    """A `<note>`; `name` such as `F#4`, or `r` for a rest; `more` goes before its end."""
    length = f"<duration>{eighths}</duration><type>{_TYPES.get(eighths, 'quarter')}</type>"
    if name == "r":
        return f"<note><rest/>{length}{more}</note>"
    alter = name.count("#") - name[1:].count("b")
    pitch = f"<step>{name[0]}</step><alter>{alter}</alter><octave>{name[-1]}</octave>"
    return f"<note><pitch>{pitch}</pitch>{length}{more}</note>"


def notes(text: str) -> str:
    """Notes such as `F4 G4:4 r:2`; the number is a length in eighths, 2 where none stands."""
    words = [word.partition(":") for word in text.split()]
    return "".join(note(name, int(length or 2)) for name, _, length in words)


def attributes(
    fifths: int = 0,
    mode: str | None = "major",
    metre: str = "4/4",
    clef: str = "<sign>G</sign><line>2</line>",
    more: str = "",
) -> str:
    """The `<attributes>` of a first measure, in eighths."""
    beats, unit = metre.split("/")
    stated = f"<mode>{mode}</mode>" if mode else ""
    return (
        f"<attributes><divisions>2</divisions><key><fifths>{fifths}</fifths>{stated}</key>"
        f"<time><beats>{beats}</beats><beat-type>{unit}</beat-type></time>"
        f"<clef>{clef}</clef>{more}</attributes>"
    )


def measures(*contents: str, first: int = 1) -> str:
    """Measures numbered from `first`."""
    return "".join(
        f'<measure number="{number}">{content}</measure>'
        for number, content in enumerate(contents, start=first)
    )


def score(*parts: str, names: tuple[str, ...] = (), head: str = "", doctype: str = "") -> bytes:
    """A whole file; each part is the text of its measures."""
    named = names or tuple(f"Voice {index}" for index in range(1, len(parts) + 1))
    listed = "".join(
        f'<score-part id="P{index}"><part-name>{name}</part-name></score-part>'
        for index, name in enumerate(named, start=1)
    )
    body = "".join(f'<part id="P{i}">{part}</part>' for i, part in enumerate(parts, start=1))
    return (
        f'<?xml version="1.0"?>{doctype}<score-partwise version="4.0">{head}'
        f"<part-list>{listed}</part-list>{body}</score-partwise>"
    ).encode()


def line(*contents: str, **signature: str) -> bytes:
    """A file of one part whose measures are given in the words of `notes`."""
    first, *others = (notes(content) for content in contents)
    return score(measures(attributes(**signature) + first, *others))


def packed(files: dict[str, bytes], method: int = zipfile.ZIP_DEFLATED) -> bytes:
    """A zip archive."""
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", method) as archive:
        for name, content in files.items():
            archive.writestr(name, content)
    return buffer.getvalue()


def mxl(content: bytes, path: str = "score.musicxml") -> bytes:
    """A compressed MusicXML file."""
    return packed({"META-INF/container.xml": CONTAINER.format(path=path).encode(), path: content})
