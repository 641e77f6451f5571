"""verovio's SVG drawn again as plain outlines that are safe anywhere.

Kept: shapes. Turned into outlines: music signs (`use`) and measure numbers (`text`). Dropped: ids,
classes, styles, definitions, hidden helpers. Added: part labels, the do mark, and on every note or
rest its part, number and ink box, in `data-` attributes, for a cursor that moves in the picture.
"""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from collections import Counter
from dataclasses import dataclass, field

from bot.notation.ink import Ink
from bot.notation.lettering import Run, letters, music_boxes, music_glyph, text_width
from bot.notation.marks import SPACE, Marks, beside
from bot.notation.score import Staff

_UNKNOWN = -1.0  # of a height in the picture: all are above 0
_APART = 0.16 * SPACE  # of the figures of a metre, up and down, where one line alone parts them
_OVER = 0.45 * SPACE  # least white between a measure number and what stands below it
_EDGE = 0.35 * SPACE  # least white above the highest number
_FIGURE = 0.68  # height of a figure, of the em
_PENCIL = "0.72"  # opacity at which ink on paper looks like the pencil of the other marks
_NS = "{http://www.w3.org/2000/svg}"
_USE = re.compile(r"translate\((-?[\d.]+), (-?[\d.]+)\) scale\(([\d.]+),")
_POINT = re.compile(r"M(-?\d+) (-?\d+)")
_STROKES = ("stroke-width", "stroke-linecap", "stroke-linejoin", "stroke-dasharray")
_SHAPES = {
    "path": ("d",),
    "polygon": ("points",),
    "ellipse": ("cx", "cy", "rx", "ry"),
    "rect": ("x", "y", "width", "height"),
}
_LEFT, _WIDTH = re.compile(r' x="[^"]*"'), re.compile(r' width="([^"]*)"')
_MARGIN = re.compile(r'<g transform="translate\((\d+), (\d+)\)">')
_BOX = re.compile(r'data-part="(\d+)" data-note="(\d+)" data-box="(\S+) (\S+) (\S+) (\S+)"')


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """Ink box of a written note or rest in the picture's own units (its `viewBox`).

    `part` and `note` count from 0; notes as written, so a tied value counts once for each head.
    """

    part: int
    note: int
    x: float
    y: float
    width: float
    height: float


def note_boxes(svg: str) -> tuple[Box, ...]:
    """Return the box of every written note and rest, part by part in the order of the notes."""
    margin = _MARGIN.search(svg)
    assert margin is not None
    right, down = float(margin[1]), float(margin[2])
    boxes = []
    for part, note, *numbers in _BOX.findall(svg):
        x, y, width, height = map(float, numbers)
        boxes.append(
            Box(
                part=int(part),
                note=int(note),
                x=x + right,
                y=y + down,
                width=width,
                height=height,
            )
        )
    return tuple(sorted(boxes, key=lambda box: (box.part, box.note)))


def redraw(drawn: str, staves: tuple[Staff, ...], marks: Marks, width_px: int) -> str:
    """Redraw verovio's SVG; `width_px` is the size that the picture asks for by itself."""
    root = ET.fromstring(drawn)  # noqa: S314 - drawn by verovio from this program's own MusicXML
    body = root.find(f"{_NS}svg")
    page = root.find(f"{_NS}svg/{_NS}g")
    assert body is not None
    assert page is not None
    sheet = _Sheet(staves=staves, marks=marks)
    sheet.draw(page)
    width, height = map(int, body.get("viewBox", "").split()[2:])
    drawing = "".join(sheet.out)
    if margin := _MARGIN.search(drawing):
        # A number that had to go far up has room above it, as everything else has.
        right, down = map(int, margin.groups())
        more = max(0, round(_EDGE - down - sheet.highest))
        height += more
        drawing = drawing.replace(
            margin[0], f'<g transform="translate({right}, {down + more})">', 1
        )
    height_px = round(width_px * height / width)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" '
        f'width="{width_px}" height="{height_px}" fill="currentColor" stroke="none">'
        f"{drawing}</svg>"
    )


@dataclass(slots=True, kw_only=True)
class _Hyphens:
    """The hyphens behind a text that ends at `begin`, by their places in the drawing."""

    begin: float
    places: list[int] = field(default_factory=list)

    def share_out(self, out: list[str], end: float) -> None:
        """Put them at even distances before the text that begins at `end`."""
        step = (end - self.begin) / (len(self.places) + 1)
        for number, place in enumerate(self.places, start=1):
            middle, width = self.begin + number * step, float(_WIDTH.findall(out[place])[0])
            out[place] = _LEFT.sub(f' x="{middle - width / 2:.0f}"', out[place])


@dataclass(slots=True, kw_only=True)
class _Sheet:
    """The drawing as it grows: what has been drawn, and where in the score the pen is."""

    staves: tuple[Staff, ...]
    marks: Marks
    out: list[str] = field(default_factory=list)
    notes: Counter[int] = field(default_factory=Counter)
    part: int = -1
    opening: bool = False
    top: float = _UNKNOWN
    hyphens: dict[float, _Hyphens] = field(default_factory=dict)
    ink: Ink = field(default_factory=Ink)
    numbers: list[tuple[ET.Element, str]] = field(default_factory=list)
    highest: float = 0.0

    def draw(self, element: ET.Element) -> None:
        """Draw an element of verovio's and all that it holds."""
        match element.tag.removeprefix(_NS):
            case "g":
                self._group(element)
            case "use":
                self._glyph(element)
            case "path" | "polygon" | "ellipse" | "rect" as shape:
                self._shape(element, shape)
            case other:
                raise ValueError(f"verovio drew <{other}>, which no picture of ours has")

    def _group(self, element: ET.Element) -> None:
        kind = element.get("class", "").split(" ")
        if "placeholder" in kind:
            return
        match kind[0]:
            case "page-margin":
                self.out.append(f'<g transform="{element.get("transform", "")}">')
                self._inside(element)
                self.out.append("</g>")
            case "note" | "rest" | "mRest":
                self._note(element)
            case "meterSig" if self.staves[self.part].one_line and len(element) == 2:
                for figure, lower in zip(element, (-_APART, _APART), strict=True):
                    self._glyph(figure, lower)
            case "mNum":
                self.numbers.append((element[0], "start" if self.opening else "middle"))
            case "syl":
                self._syllable(element)
            case "system":
                self._system(element)
            case "measure":
                self.part = -1
                self._inside(element)
                self.opening = False
            case "staff":
                self.part += 1
                self._staff(element)
            case _:
                self._inside(element)

    def _system(self, element: ET.Element) -> None:
        """Draw a system as a group that says where its top line is, so that paper can break it."""
        self.opening, self.top = True, _UNKNOWN
        self.hyphens.clear()
        self.ink, self.numbers = Ink(), []
        begins = len(self.out)
        self.out.append("")
        self._inside(element)
        for number, anchor in self.numbers:
            self._measure_number(number, anchor)
        self.out[begins] = f'<g data-top="{self.top:.0f}">'
        self.out.append("</g>")

    def _inside(self, element: ET.Element) -> None:
        for child in element:
            self.draw(child)

    def _staff(self, element: ET.Element) -> None:
        lines = [_POINT.match(path.get("d", "")) for path in element.findall(f"{_NS}path")]
        if self.top == _UNKNOWN and lines and lines[0] is not None:
            self.top = float(lines[0][2])
        if self.opening and len(lines) in (1, 5) and lines[0] is not None and lines[-1] is not None:
            left, bottom = float(lines[0][1]), float(lines[-1][2])
            if len(lines) == 1:  # a label stands beside the line as it would beside the middle one
                bottom += 2 * SPACE
            staff, label = self.staves[self.part], self.marks.labels[self.part]
            self.out.append(beside(self.marks, staff, label, left, bottom))
        self._inside(element)

    def _note(self, element: ET.Element) -> None:
        head = element.find(f"{_NS}g[@class='notehead']/{_NS}use")
        if head is None:
            head = element.find(f"{_NS}use")
        assert head is not None
        self.out.append(
            f'<g data-part="{self.part}" data-note="{self.notes[self.part]}" '
            f'data-box="{_ink_box(head)}">'
        )
        self.notes[self.part] += 1
        self._inside(element)
        self.out.append("</g>")

    def _glyph(self, element: ET.Element, lower: float = 0.0) -> None:
        code, x, y, scale = _placed(element)
        box = music_boxes()[code]
        left, high = x + scale * box.x, y + lower - scale * (box.y + box.height)
        self.ink.add(left, high, left + scale * box.width, high + scale * box.height)
        place = f"translate({x:g},{y + lower:g})scale({scale:g},-{scale:g})"
        self.out.append(f'<path transform="{place}" d="{music_glyph(code)}"/>')

    def _measure_number(self, text: ET.Element, anchor: str) -> None:
        """Draw a measure number over its bar line, at a system's beginning right of it.

        It goes as far up as it must to stand clear of notes, beams and brackets.
        """
        if not self.marks.numbers:
            return
        runs = (Run(text="".join(text.itertext()), size=self.marks.numbers),)
        x, y = float(text.get("x", "0")), float(text.get("y", "0"))
        left = x if anchor == "start" else x - text_width(runs) / 2
        top = self.ink.top(left - _OVER / 2, left + text_width(runs) + _OVER / 2)
        y = y if top is None else min(y, top - _OVER)
        self.highest = min(self.highest, y - _FIGURE * self.marks.numbers)
        self.out.append(f'<g opacity="{_PENCIL}">{letters(runs, x, y, anchor)}</g>')

    def _syllable(self, element: ET.Element) -> None:
        """Draw a text under a note, and the hyphens that lead to the next.

        They are put midway once the next text is there: verovio does not know how wide ours are.
        """
        line = _UNKNOWN
        for child in element:
            if child.tag != f"{_NS}text":
                if line in self.hyphens and child.tag == f"{_NS}rect":
                    self.hyphens[line].places.append(len(self.out))
                self.draw(child)
                continue
            text = "".join(child.itertext()).replace("\N{THIN SPACE}", " ")
            runs = (Run(text=text, size=self.marks.under),)
            x, y = float(child.get("x", "0")), float(child.get("y", "0"))
            line = y
            if before := self.hyphens.get(line):
                before.share_out(self.out, x)
            self.out.append(letters(runs, x, y))
            self.hyphens[line] = _Hyphens(begin=x + text_width(runs))

    def _shape(self, element: ET.Element, shape: str) -> None:
        self.ink.add_shape(element)
        kept = [f'{name}="{element.get(name)}"' for name in _SHAPES[shape]]
        strokes = [f'{name}="{element.get(name)}"' for name in _STROKES if name in element.attrib]
        if strokes:
            kept += ['stroke="currentColor"', *strokes]
        self.out.append(f"<{shape} {' '.join(kept)}/>")


def _placed(use: ET.Element) -> tuple[str, float, float, float]:
    """Return (SMuFL code, x, y, scale) of a placed music sign."""
    match = _USE.match(use.get("transform", ""))
    assert match is not None
    code = use.get("href", "").removeprefix("#").partition("-")[0]
    return code, float(match[1]), float(match[2]), float(match[3])


def _ink_box(use: ET.Element) -> str:
    """Return `x y width height` of a placed sign's ink."""
    code, x, y, scale = _placed(use)
    box = music_boxes()[code]
    left, top = x + scale * box.x, y - scale * (box.y + box.height)
    return f"{left:.0f} {top:.0f} {scale * box.width:.0f} {scale * box.height:.0f}"
