"""Words in a picture as outlines, so that no picture needs a font where it is shown.

Letters come from the package's Source Serif; flats, naturals and sharps from verovio's Leland, by
SMuFL code. Both are under the SIL Open Font License. A letter that neither has is drawn
as the font's empty box.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import font_source_serif_pro
import verovio
from fontTools.pens.recordingPen import DecomposingRecordingPen, RecordingPen
from fontTools.pens.svgPathPen import SVGPathPen
from fontTools.pens.transformPen import TransformPen
from fontTools.svgLib.path import parse_path
from fontTools.ttLib import TTFont

MUSIC_FONT = "Leland"
_ACCIDENTALS = {"♭": "E260", "♮": "E261", "♯": "E262"}
# Among letters an accidental is larger than on a staff, and stands higher (parts of the em).
_ACCIDENTAL_EM, _LIFT = 750.0, 0.15
_OUTLINE = re.compile(r' d="([^"]+)"')
_BOX = re.compile(r'<g c="(\w+)" x="(\S+)" y="(\S+)" w="(\S+)" h="(\S+)" h-a-x="(\S+)"')


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """Letters of one size; `size` is the height of the em."""

    text: str
    size: float


@dataclass(frozen=True, slots=True, kw_only=True)
class GlyphBox:
    """Ink box of a music sign, y upwards from its origin, and its advance: 1000 units an em."""

    x: float
    y: float
    width: float
    height: float
    advance: float


def outline(runs: tuple[Run, ...], x: float, y: float, anchor: str = "start") -> str:
    """Return SVG path data for a line of text on the base line `y`, aligned at `x`.

    `anchor` is SVG's `start`, `middle` or `end`. Coordinates are rounded to whole units.
    """
    share = {"start": 0.0, "middle": 0.5, "end": 1.0}[anchor]
    pen = SVGPathPen(None, ntos=lambda value: str(round(value)))
    at = x - share * text_width(runs)
    for run in runs:
        for letter in run.text:
            drawn = _letter(letter)
            scale = run.size / drawn.em
            base = y - drawn.lift * run.size
            drawn.pen.replay(TransformPen(pen, (scale, 0, 0, -scale, at, base)))
            at += drawn.advance * scale
    return str(pen.getCommands())


def letters(runs: tuple[Run, ...], x: float, y: float, anchor: str = "start") -> str:
    """Return SVG of a line of text on the base line `y`, a path for each letter, aligned at `x`.

    A letter's path is the same wherever it stands, so that a page of many pictures may share it.
    """
    share = {"start": 0.0, "middle": 0.5, "end": 1.0}[anchor]
    at = x - share * text_width(runs)
    drawn = []
    for run in runs:
        for letter in run.text:
            sign = _letter(letter)
            scale = run.size / sign.em
            if data := sign.data:
                base = y - sign.lift * run.size
                place = f"translate({at:.0f},{base:.0f})scale({scale:.4g},-{scale:.4g})"
                drawn.append(f'<path transform="{place}" d="{data}"/>')
            at += sign.advance * scale
    return "".join(drawn)


def text_width(runs: tuple[Run, ...]) -> float:
    """Width of a line of text, in the units of the sizes."""
    total = 0.0
    for run in runs:
        for letter in map(_letter, run.text):
            total += letter.advance * run.size / letter.em
    return total


def fitted(text: str, size: float, room: float) -> str:
    """Return the text, cut off with an ellipsis where it is wider than `room`."""
    if text_width((Run(text=text, size=size),)) <= room:
        return text
    while text and text_width((Run(text=f"{text}…", size=size),)) > room:
        text = text[:-1].rstrip()
    return f"{text}…"


@cache
def music_glyph(code: str) -> str:
    """Path data of a music sign by its SMuFL code such as `E0A4`, y upwards, 1000 units an em."""
    match = _OUTLINE.search((_data() / MUSIC_FONT / f"{code}.xml").read_text(encoding="utf-8"))
    return match[1] if match else ""


@cache
def music_boxes() -> dict[str, GlyphBox]:
    """Ink boxes of all music signs by SMuFL code."""
    text = (_data() / f"{MUSIC_FONT}.xml").read_text(encoding="utf-8")
    boxes = {}
    for code, *numbers in _BOX.findall(text):
        x, y, width, height, advance = map(float, numbers)
        boxes[code] = GlyphBox(x=x, y=y, width=width, height=height, advance=advance)
    return boxes


@dataclass(frozen=True, slots=True, kw_only=True)
class _Letter:
    pen: RecordingPen
    advance: float
    em: float
    lift: float = 0.0

    @property
    def data(self) -> str:
        """The outline in the letter's own units, y upwards; empty for a space."""
        pen = SVGPathPen(None, ntos=lambda value: str(round(value)))
        self.pen.replay(pen)
        return str(pen.getCommands())


@cache
def _letter(letter: str) -> _Letter:
    code = _ACCIDENTALS.get(letter)
    if code is not None:
        pen = RecordingPen()
        parse_path(music_glyph(code), pen)
        advance = music_boxes()[code].advance
        return _Letter(pen=pen, advance=advance, em=_ACCIDENTAL_EM, lift=_LIFT)
    font = _serif()
    glyphs = font.getGlyphSet()
    glyph = glyphs[font.getBestCmap().get(ord(letter), ".notdef")]
    pen = DecomposingRecordingPen(glyphs)
    glyph.draw(pen)
    return _Letter(pen=pen, advance=glyph.width, em=font["head"].unitsPerEm)


@cache
def _serif() -> TTFont:
    return TTFont(font_source_serif_pro.font_files_ttf["SourceSerifPro"], lazy=True)


def _data() -> Path:
    return Path(verovio.__file__).parent / "data"
