"""Pictures as a PDF for printing: svglib reads them, reportlab draws them as vectors.

fpdf2 passes over nested `<svg>` without a word, and svglib does not scale them: they are made plain
groups here. Tests look at the paper, not at the exit code.
"""

from __future__ import annotations

import io
import xml.etree.ElementTree as ET
from collections.abc import Sequence
from typing import Literal

from reportlab.graphics import renderPDF
from reportlab.graphics.shapes import Drawing
from reportlab.lib.pagesizes import A4, LETTER
from reportlab.pdfgen.canvas import Canvas
from svglib.svglib import svg2rlg

from bot.errors import RenderFailed
from bot.notation.lettering import Run, outline, text_width
from bot.notation.systems import systems

Page = Literal["letter", "a4"]

_SIZES = {"letter": LETTER, "a4": A4}
_MARGIN_PT = 43.0  # 15 mm, which every printer can print
_TITLE_PT = 18.0
_TITLE_ROOM_PT = 2 * _TITLE_PT
_SVG, _GROUP = "{http://www.w3.org/2000/svg}svg", "{http://www.w3.org/2000/svg}g"
_SIZE = ("width", "height")
SMALLEST = 0.6  # of the page's width: below, music goes on to the next page
_INK = "#000000"  # a laser printer's black, not the screen's


def pdf(svg_pages: Sequence[str], *, title: str, page: Page = "letter") -> bytes:
    """Print pictures, one a page, as wide as the page allows and no higher.

    A picture of many systems that would become small goes on to further pages instead.
    `title` stands over the first picture and in the document's properties; it may be empty. Equal
    input gives equal bytes. `currentColor` is black. RenderFailed where a picture cannot be read;
    ValueError where there is none.
    """
    if not svg_pages:
        raise ValueError("a PDF has at least one page")
    pictures = [_readable(svg, page, titled=bool(title)) for svg in svg_pages]
    written = io.BytesIO()
    canvas = Canvas(written, pagesize=_SIZES[page], invariant=1, lang="en")
    canvas.setTitle(title)
    canvas.setCreator("Riserbell")
    width, height = _SIZES[page]
    top = height - _MARGIN_PT
    if title:
        _heading(canvas, title, width, top)
        top -= _TITLE_ROOM_PT
    for drawings in pictures:
        for number, drawing in enumerate(drawings):
            scaled = drawing.height * (width - 2 * _MARGIN_PT) / drawing.width
            if number and top - scaled < _MARGIN_PT:
                canvas.showPage()
                top = height - _MARGIN_PT
            top -= _place(canvas, drawing, width, top)
        canvas.showPage()
        top = height - _MARGIN_PT
    canvas.save()
    return written.getvalue()


def page_size(page: Page) -> tuple[float, float]:
    """Width and height of a page in points."""
    width, height = _SIZES[page]
    return width, height


def readable_drawing(svg: str) -> Drawing:
    """A picture as reportlab draws it, in black; RenderFailed where it cannot be read."""
    try:
        root = ET.fromstring(svg.replace("currentColor", _INK))  # noqa: S314 - our own picture
    except ET.ParseError as error:
        raise RenderFailed(f"a picture could not be read for printing: {error}") from error
    _flatten(root, _box(root)[2:])
    drawing = svg2rlg(io.StringIO(ET.tostring(root, encoding="unicode")))
    if drawing is None or not drawing.width or not drawing.height:
        raise RenderFailed("a picture without a size cannot be printed")
    return drawing


def _box(svg: ET.Element) -> tuple[float, ...]:
    """Return an element's `viewBox`: left, top, width, height in its own units."""
    stated = svg.get("viewBox") or f"0 0 {svg.get('width', '0')} {svg.get('height', '0')}"
    return tuple(float(number.removesuffix("px")) for number in stated.replace(",", " ").split())


def _flatten(parent: ET.Element, room: tuple[float, ...]) -> None:
    """Turn every `<svg>` below into a group that is placed and scaled as it would be.

    `room` is width and height around; a picture without a size of its own fills it. It keeps its
    proportions and stands in the middle (SVG 1.1, section 7.8).
    """
    for child in parent:
        inside = room
        if child.tag == _SVG:
            left, top, *inside_size = _box(child) if child.get("viewBox") else (0, 0, *room)
            size = [float(child.get(name, whole)) for name, whole in zip(_SIZE, room, strict=True)]
            scale = min(outer / own for outer, own in zip(size, inside_size, strict=True))
            x, y = (
                float(child.attrib.pop(name, "0")) + (outer - scale * own) / 2
                for name, outer, own in zip("xy", size, inside_size, strict=True)
            )
            child.tag = _GROUP
            child.set("transform", f"translate({x},{y})scale({scale})translate({-left},{-top})")
            inside = tuple(inside_size)
        _flatten(child, inside)


def _readable(svg: str, page: Page, *, titled: bool) -> list[Drawing]:
    """A picture as one drawing, or system by system where the page would make it small."""
    drawing = readable_drawing(svg)
    width, height = (size - 2 * _MARGIN_PT for size in _SIZES[page])
    room = height - (_TITLE_ROOM_PT if titled else 0.0)
    if room / drawing.height >= SMALLEST * width / drawing.width:
        return [drawing]
    return [readable_drawing(system) for system in systems(svg)]


def _place(canvas: Canvas, drawing: Drawing, width: float, top: float) -> float:
    """Draw a picture below `top`, scaled to the printable width or height; its height there."""
    scale = min((width - 2 * _MARGIN_PT) / drawing.width, (top - _MARGIN_PT) / drawing.height)
    canvas.saveState()
    canvas.translate((width - scale * drawing.width) / 2, top - scale * drawing.height)
    canvas.scale(scale, scale)
    renderPDF.draw(drawing, canvas, 0, 0)
    canvas.restoreState()
    return float(scale * drawing.height)


def _heading(canvas: Canvas, title: str, width: float, top: float) -> None:
    """Draw the title as outlines, so that the PDF needs no font and lacks no letter of it."""
    room = width - 2 * _MARGIN_PT
    size = _TITLE_PT
    size *= min(1.0, room / max(text_width((Run(text=title, size=size),)), 1.0))
    fine = 100  # outlines are in whole units
    path = outline((Run(text=title, size=size * fine),), 0, _TITLE_PT * fine)
    height = _TITLE_ROOM_PT
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{room}pt" height="{height}pt" '
        f'viewBox="0 0 {room * fine} {height * fine}"><path d="{path}" fill="{_INK}"/></svg>'
    )
    renderPDF.draw(readable_drawing(svg), canvas, _MARGIN_PT, top - height)
