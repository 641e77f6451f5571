"""Pages with words and music for the printer: text as text in the embedded serif, black on white.

svglib and reportlab draw (see `pdf.py`); a test rasterises the pages and looks at them.
"""

from __future__ import annotations

import io
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from html import escape
from pathlib import Path

import font_source_serif_pro
from reportlab.graphics.renderPDF import GraphicsFlowable
from reportlab.lib.colors import HexColor
from reportlab.lib.styles import ParagraphStyle
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.platypus import (
    Flowable,
    KeepTogether,
    PageBreak,
    Paragraph,
    SimpleDocTemplate,
    Spacer,
    Table,
)

from bot.notation.pdf import SMALLEST, Page, page_size
from bot.notation.staff_size import Music, common_space, height, music
from bot.notation.systems import systems

_MARGIN_PT = 43.0  # 15 mm, which every printer can print
_PADDING_PT = 6.0  # the library's own, inside its margins
_FACES = {"Riserbell-Serif": "Regular", "Riserbell-Italic": "It", "Riserbell-Semibold": "Semibold"}
_SERIF, _ITALIC, _SEMIBOLD = _FACES
_ROW_NAME_PT, _BOX_PT = 62.0, 64.0  # of boxes to tick
_PENCIL = HexColor("#645D53")
_LEAST_LARGE = 0.7  # of the page's width, in large print
_LEAST_MUSIC_PT = 60.0  # a picture that would be lower than this goes to the next page


@dataclass(frozen=True, slots=True, kw_only=True)
class Grid:
    """Empty boxes to be ticked by hand, a name over each column and before each row.

    `one_last` makes the last column one box for all rows.
    """

    columns: tuple[str, ...]
    rows: tuple[str, ...]
    one_last: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """A picture with what stands over it; `caption` may be empty. Boxes to tick stand below."""

    svg: str
    caption: str = ""
    grid: Grid | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """Lines under a title; numbered where their order counts. `small` is for the page's foot."""

    title: str
    lines: tuple[str, ...]
    numbered: bool = False
    small: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperPage:
    """One page: heading, facts under it, pictures, blocks. `mark` is its index entry."""

    heading: str
    facts: str = ""
    pictures: tuple[Picture, ...] = ()
    blocks: tuple[Block, ...] = ()
    mark: str = ""


def paper(
    pages: Sequence[PaperPage], *, title: str, page: Page = "letter", large: bool = False
) -> bytes:
    """Print pages; staves are of one size on all of them, so that words fit beside the music.

    `large` sets the words at 18 points at least; what does not fit goes on to the next page. Equal
    input gives equal bytes. RenderFailed where a picture cannot be read; ValueError without pages.
    """
    if not pages:
        raise ValueError("a PDF has at least one page")
    _register_faces()
    look = _Look(large=large)
    sheet = tuple(size - 2 * _MARGIN_PT for size in page_size(page))
    leaves = [_leaf(each, number, look, *sheet) for number, each in enumerate(pages)]
    least = _LEAST_LARGE if large else SMALLEST
    space = common_space([(leaf.music, leaf.room) for leaf in leaves], sheet[0], least)
    story: list[Flowable] = []
    for number, leaf in enumerate(leaves):
        if number:
            story.append(PageBreak())
        story += [*leaf.head, *_pictures(leaf, look, sheet[0], space), *leaf.words]
    written = io.BytesIO()
    document = SimpleDocTemplate(
        written,
        pagesize=page_size(page),
        leftMargin=_MARGIN_PT - _PADDING_PT,
        rightMargin=_MARGIN_PT - _PADDING_PT,
        topMargin=_MARGIN_PT - _PADDING_PT,
        bottomMargin=_MARGIN_PT - _PADDING_PT,
        title=title,
        creator="Riserbell",
        lang="en",
        invariant=1,
    )
    document.build(story)
    return written.getvalue()


class _Look:
    """Paragraph styles of one print."""

    def __init__(self, *, large: bool) -> None:
        body = 18.0 if large else 11.5
        self.gap = 0.9 * body
        self.heading = _style(_SEMIBOLD, body * 1.55)
        self.facts = _style(_SERIF, body * 1.1)
        self.caption = _style(_ITALIC, body, before=self.gap * 0.6)
        self.title = _style(_SEMIBOLD, body, before=self.gap)
        self.line = _style(_SERIF, body, indent=body * 1.5)
        self.small_title = _style(_SEMIBOLD, body if large else 9.5, before=self.gap)
        self.small = _style(_SERIF, body if large else 9.5, indent=body * 0.9)


def _style(font: str, size: float, *, before: float = 0.0, indent: float = 0.0) -> ParagraphStyle:
    return ParagraphStyle(
        f"{font} {size} {before} {indent}",
        fontName=font,
        fontSize=size,
        leading=size * 1.28,
        spaceBefore=before,
        leftIndent=indent,
        bulletIndent=0,
        bulletFontName=font,
        bulletFontSize=size,
    )


class _Mark(Flowable):  # type: ignore[misc] # the library has no types
    """An entry in the index that a PDF reader shows beside the pages; takes no room."""

    def __init__(self, name: str, key: str) -> None:
        super().__init__()
        self._name, self._key = name, key

    def wrap(self, *_: float) -> tuple[float, float]:
        """No room at all."""
        return 0.0, 0.0

    def draw(self) -> None:
        """Enter the place at which the text has arrived."""
        self.canv.bookmarkPage(self._key)
        self.canv.addOutlineEntry(self._name, self._key, level=0)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Leaf:
    """A page with its words set; `room` is what they leave for the music, in points."""

    head: tuple[Flowable, ...]
    words: tuple[Flowable, ...]
    pictures: tuple[Picture, ...]
    music: tuple[Music, ...]
    room: float


def _leaf(page: PaperPage, number: int, look: _Look, width: float, tall: float) -> _Leaf:
    head: list[Flowable] = [Paragraph(escape(page.heading), look.heading)]
    if page.facts:
        head.append(Paragraph(escape(page.facts), look.facts))
    words = [flowable for block in page.blocks for flowable in _block(block, look)]
    captions = [
        Paragraph(escape(picture.caption), look.caption)
        for picture in page.pictures
        if picture.caption
    ]
    grids = [_grid(picture.grid, look) for picture in page.pictures if picture.grid]
    taken = sum(_height(each, width, tall) for each in (*head, *words, *captions, *grids))
    room = tall - taken - len(page.pictures) * look.gap - 2 * look.gap
    if room < _LEAST_MUSIC_PT * len(page.pictures):
        room = 0.8 * tall  # the words go on to the next page instead
    marked = (_Mark(page.mark, f"page-{number}"),) if page.mark else ()
    return _Leaf(
        head=(*marked, *head),
        words=tuple(words),
        pictures=page.pictures,
        music=tuple(music(picture.svg) for picture in page.pictures),
        room=room,
    )


def _pictures(leaf: _Leaf, look: _Look, width: float, space: float) -> Iterator[Flowable]:
    """The pictures of a page, whole where they find room, else going on from page to page."""
    if height(leaf.music, space, width) > leaf.room + 1e-6:
        yield from _in_systems(leaf.pictures, look, width, space)
        return
    for picture, drawn in zip(leaf.pictures, leaf.music, strict=True):
        shown: list[Flowable] = []
        if picture.caption:
            shown.append(Paragraph(escape(picture.caption), look.caption))
        shown.append(Spacer(0, look.gap))
        shown.append(_left(drawn, width, space))
        if picture.grid:
            shown.append(_grid(picture.grid, look))
        yield KeepTogether(shown)


def _in_systems(
    pictures: Sequence[Picture], look: _Look, width: float, space: float
) -> Iterator[Flowable]:
    """Pictures that are too tall for a page, system by system, going on from page to page."""
    for picture in pictures:
        for number, system in enumerate(systems(picture.svg)):
            drawn = _left(music(system), width, space)
            first = number == 0
            head = [Paragraph(escape(picture.caption), look.caption)] if picture.caption else []
            yield KeepTogether([*head, Spacer(0, look.gap), drawn]) if first else drawn
        if picture.grid:
            yield _grid(picture.grid, look)


def _left(drawn: Music, width: float, space: float) -> GraphicsFlowable:
    return GraphicsFlowable(drawn.scaled(space, width))


def _grid(grid: Grid, look: _Look) -> Table:
    """Boxes that a pen finds, in lines of pencil grey."""
    cells = [["", *grid.columns], *([row, *[""] * len(grid.columns)] for row in grid.rows)]
    return Table(
        [[Paragraph(escape(text), look.small) for text in row] for row in cells],
        colWidths=[_ROW_NAME_PT, *[_BOX_PT] * len(grid.columns)],
        hAlign="LEFT",
        style=[
            *([("SPAN", (-1, 1), (-1, -1))] if grid.one_last else []),
            ("GRID", (1, 1), (-1, -1), 0.6, _PENCIL),
            ("VALIGN", (0, 0), (-1, -1), "MIDDLE"),
            ("LEFTPADDING", (0, 0), (-1, -1), 2),
            ("TOPPADDING", (0, 0), (-1, -1), 1),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 3),
        ],
    )


def _block(block: Block, look: _Look) -> Iterator[Flowable]:
    title, line = (look.small_title, look.small) if block.small else (look.title, look.line)
    if block.title:
        yield Paragraph(escape(block.title), title)
    for number, text in enumerate(block.lines, start=1):
        sign = f"{number}." if block.numbered else "–"
        yield Paragraph(escape(text), line, bulletText=sign)


def _height(flowable: Flowable, width: float, height: float) -> float:
    before = flowable.getSpaceBefore()
    _, own = flowable.wrap(width, height)
    return float(own) + float(before)


def _register_faces() -> None:
    """Make the serif known to the library, which keeps its fonts for the whole process."""
    folder = Path(font_source_serif_pro.font_directory)
    for name, face in _FACES.items():
        if name not in pdfmetrics.getRegisteredFontNames():
            pdfmetrics.registerFont(TTFont(name, folder / f"SourceSerifPro-{face}.ttf"))
