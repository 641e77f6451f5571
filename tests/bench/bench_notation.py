"""A picture from an exercise, held against verovio and resvg alone on the same music."""

from __future__ import annotations

import font_source_serif_pro
import resvg_py
import verovio

from bot.music.exercise import Exercise
from bot.music.solfa import Solfa
from bot.music.voice import Clef
from bot.notation.engrave import PAPER, EngravingStyle, png, svg
from bot.notation.read import exercise_from_musicxml
from bot.notation.words import describe
from bot.notation.write import musicxml
from tests.bench import median_s
from tests.notation.lines import english, exercise

_WIDTH_PX = 1600
_LINE = (
    "0:q 1:q 2:h 2:q 3:e 2:e 4:h 4:q 2:q 3:q 1:q 0:h 1:h "
    "2:q 2:e 3:e 4:q 2:q 4:q 5:q 4:h 3:q 2:q 1:q 2:q 0:w"
)


def run() -> dict[str, float]:
    """Medians for a line of eight measures."""
    line = exercise("F", "4/4", _LINE)
    written = _write(line)
    drawn = svg(written)
    phone = EngravingStyle(phone=True)
    fifth = '<measure number="5" implicit="no">'
    broken = written.decode().replace(fifth, fifth + '<print new-system="yes"/>')
    alone = median_s(lambda: _engravers_alone(broken), runs=20)
    whole = median_s(lambda: png(svg(_write(line)), _WIDTH_PX), runs=20)
    return {
        "verovio and resvg alone, 1600 px": alone,
        "whole picture from the exercise": whole,
        "whole picture over verovio and resvg [x]": whole / alone,
        "MusicXML": median_s(lambda: _write(line), runs=20),
        "SVG": median_s(lambda: svg(written), runs=20),
        "SVG for the phone": median_s(lambda: svg(written, phone), runs=20),
        "PNG, 1600 px": median_s(lambda: png(drawn, _WIDTH_PX), runs=20),
        "reading MusicXML": median_s(lambda: exercise_from_musicxml(written, "line"), runs=20),
        "words": median_s(lambda: describe(line, Solfa(), english()), runs=20),
    }


def _write(line: Exercise) -> bytes:
    return musicxml(line, clefs=(Clef.TREBLE,))


def _engravers_alone(written: str) -> None:
    """Engrave the same two systems in a picture of the same size, as the libraries come."""
    verovio.enableLog(verovio.LOG_OFF)
    toolkit = verovio.toolkit()
    toolkit.setOptions(
        {
            "inputFrom": "musicxml",
            "breaks": "encoded",
            "pageWidth": 1061,
            "pageMarginLeft": 14,
            "pageMarginRight": 14,
            "pageMarginTop": 14,
            "pageMarginBottom": 14,
            "adjustPageHeight": True,
            "header": "none",
            "footer": "none",
            "svgViewBox": True,
        }
    )
    toolkit.loadData(written)
    resvg_py.svg_to_bytes(
        svg_string=toolkit.renderToSVG(1),
        width=_WIDTH_PX,
        background=PAPER,
        skip_system_fonts=True,
        font_files=[font_source_serif_pro.font_files_ttf["SourceSerifPro"]],
        serif_family="Source Serif Pro",
    )
