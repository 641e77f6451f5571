"""Engraving: MusicXML to SVG to PNG.

verovio lays out the music; `picture.py` redraws its SVG as plain outlines in `currentColor`: no
text, no font, no id, no class, no style and nothing from outside, so that any number of pictures
stand in one page without touching one another or the page, and night mode is one CSS colour.
"""

from __future__ import annotations

import xml.etree.ElementTree as ET
from dataclasses import dataclass, replace
from pathlib import Path

import resvg_py
import verovio

from bot.errors import RenderFailed
from bot.notation.even import USUAL, evenest
from bot.notation.layout import PHONE_WIDTH_PX, Layout, lay_out
from bot.notation.lettering import MUSIC_FONT, fitted
from bot.notation.marks import SPACE, Marks
from bot.notation.picture import redraw
from bot.notation.score import Score, parse_score

INK = "#1D1A16"
PAPER = "#FBF6EA"
_UNITS = 18  # verovio's page units in a staff space
_MARGIN = 0.8  # white around the picture, in staff spaces
_LETTERS, _NUMBERS = 2.2 * SPACE, 1.8 * SPACE
_BRACKET = 1.0 * SPACE
_LABEL, _PHONE_LABEL = 12 * SPACE, 9 * SPACE  # most room for a label
_PHONE_SPACE_PX, _PHONE_TYPE_PX = 7.0, 18.0
_LEGIBLE = 0.7  # of the letters: 12.6 CSS px on the phone
# Spaces between two staves: without texts, for each line of text (of its letters), below texts.
_GAP, _LINE, _BELOW = 6.0, 1.15, 0.6
_TEXT_SHARES = (1.0, 0.85, 0.7, 0.6, 0.5)  # of the letters, where notes stand too close


@dataclass(frozen=True, slots=True, kw_only=True)
class EngravingStyle:
    """How a reading is engraved.

    `width_px` is the width at which the picture is meant to be seen; a phone's is always 360 CSS
    px. `do_name` is what the choir calls do; `do_is_tonic` puts the mark on the tonic in minor, for
    choirs that call it do. `large` has fewer measures a line, `one_a_line` one. With `sheet` every
    picture has staves of one height, for pages with many of them; else each is as large as it can.
    """

    width_px: int = 1600
    phone: bool = False
    mark_do: bool = True
    measure_numbers: bool = True
    do_name: str = "do"
    do_is_tonic: bool = False
    large: bool = False
    one_a_line: bool = False
    sheet: bool = False


def svg(musicxml: bytes, style: EngravingStyle | None = None) -> str:
    """Engrave what `musicxml()` wrote; equal input gives equal text.

    The picture is self-contained and drawn in `currentColor`; RenderFailed where verovio cannot.
    """
    style = style or EngravingStyle()
    score = parse_score(musicxml)
    marks, layout = _fitted(score, style)
    written = _broken(score, layout)

    def draw(linear: float) -> str:
        toolkit = _toolkit(layout, marks, linear, score.lines_under)
        if not toolkit.loadData(written):
            raise RenderFailed("verovio could not read the MusicXML that was written for it")
        return str(toolkit.renderToSVG(1))

    drawn = evenest(draw, marks.under) if score.lines_under else draw(USUAL)
    width_px = PHONE_WIDTH_PX if style.phone else style.width_px
    return redraw(drawn, score.staves, marks, width_px)


def _fitted(score: Score, style: EngravingStyle) -> tuple[Marks, Layout]:
    """The layout, with the texts under the notes as large as they can be beside one another.

    On the phone they are rather a little smaller than that every measure has a line of its own.
    """
    marks = _marks(score, style)
    found: list[tuple[Marks, Layout]] = []
    for share in _TEXT_SHARES:
        marks = replace(marks, under=share * marks.letters)
        layout = lay_out(
            score,
            phone=style.phone,
            left=marks.width / SPACE + 2 * _MARGIN,
            large=style.large,
            one_a_line=style.one_a_line,
            sheet=style.sheet,
            letters=marks.under,
        )
        found.append((marks, layout))
    fit = [each for each in found if each[1].fits] or found[-1:]
    fewer = [each for each in fit if len(each[1].breaks) < len(fit[0][1].breaks)]
    legible = [each for each in fewer if each[0].under >= _LEGIBLE * each[0].letters]
    return legible[0] if style.phone and legible else fit[0]


def png(svg: str, width_px: int = 1600, *, ink: str = INK, paper: str | None = PAPER) -> bytes:
    """Paint a picture; `paper` None leaves the ground transparent. Colours as CSS writes them."""
    inked = svg.replace("<svg ", f'<svg color="{ink}" ', 1)
    try:
        return bytes(
            resvg_py.svg_to_bytes(
                svg_string=inked, width=width_px, background=paper, skip_system_fonts=True
            )
        )
    except ValueError as error:
        raise RenderFailed(f"the picture could not be painted: {error}") from error


def _marks(score: Score, style: EngravingStyle) -> Marks:
    least = _PHONE_TYPE_PX * SPACE / _PHONE_SPACE_PX if style.phone else 0.0
    letters = max(_LETTERS, least)
    room = _PHONE_LABEL if style.phone else _LABEL
    return Marks(
        labels=tuple(fitted(label, letters, room) for label in _labels(score, phone=style.phone)),
        do_name=style.do_name if style.mark_do else "",
        do_is_tonic=style.do_is_tonic,
        letters=letters,
        numbers=max(_NUMBERS, least) if style.measure_numbers else 0.0,
        bracket=_BRACKET if len(score.staves) > 1 else 0.0,
    )


def _labels(score: Score, *, phone: bool) -> list[str]:
    """Return the staves' labels; on the phone without the first word that all of them share."""
    labels = [staff.label for staff in score.staves]
    first = {label.partition(" ")[0] for label in labels}
    rest = [label.partition(" ")[2].strip() for label in labels]
    return rest if phone and len(labels) > 1 and len(first) == 1 and all(rest) else labels


def _toolkit(layout: Layout, marks: Marks, linear: float, lines: int) -> verovio.toolkit:
    """Return a toolkit of its own for each picture, since a toolkit keeps state."""
    verovio.enableLog(verovio.LOG_OFF)
    toolkit = verovio.toolkit(False)
    # The library's own default is known to its first thread alone; any other would draw nothing.
    toolkit.setResourcePath(str(Path(verovio.__file__).parent / "data"))
    margin = round(_MARGIN * _UNITS)
    toolkit.setOptions(
        {
            "inputFrom": "musicxml",
            "font": MUSIC_FONT,
            "breaks": "encoded",
            "pageWidth": round(layout.spaces * _UNITS),
            "adjustPageHeight": True,
            "pageMarginLeft": margin + round(marks.width / 10),
            "pageMarginRight": margin,
            "pageMarginTop": margin,
            "pageMarginBottom": margin,
            "minLastJustification": 0.0 if layout.justify_last else 0.8,
            "bracketThickness": 0.8,
            "leftMarginAccid": 2.0,
            "staffLineWidth": 0.18,
            "stemWidth": 0.22,
            # A length twice as long takes 1.4 times the room: a flag keeps clear of the next head,
            # and words do not push the last note of a measure onto its bar line.
            "spacingNonLinear": 0.5,
            "spacingLinear": linear,
            "mnumInterval": 1,
            "header": "none",
            "footer": "none",
            "smuflTextFont": "none",
            # In half spaces: texts stand nearer to their own staff than to the next.
            "lyricSize": 2 * marks.under / SPACE,
            "lyricTopMinMargin": 2.8,
            "lyricHeightFactor": 1.1,
            "defaultBottomMargin": 0.8,
            "lyricWordSpace": 2.4,
            "lyricNoStartHyphen": True,
            "spacingBracketGroup": 2 * _staff_gap(marks, lines),
            "svgViewBox": True,
            "svgRemoveXlink": True,
            "svgFormatRaw": True,
            "xmlIdSeed": 1,
        }
    )
    return toolkit


def _staff_gap(marks: Marks, lines: int) -> float:
    """Spaces between two staves of a system with so many lines of text under each."""
    return _GAP + lines * _LINE * marks.under / SPACE + (_BELOW if lines else 0.0)


def _broken(score: Score, layout: Layout) -> str:
    """Return the MusicXML with its systems broken, without what verovio shall not draw.

    Labels are drawn by marks.py. The tempo is left to the page, where it can be changed.
    """
    for name in score.tree.iter("part-name"):
        name.text = None
    measures = score.tree.findall("part")[0]
    for index in layout.breaks:
        for direction in measures[index].findall("direction"):
            measures[index].remove(direction)
        measures[index].insert(0, ET.Element("print", {"new-system": "yes"}))
    return ET.tostring(score.tree, encoding="unicode")
