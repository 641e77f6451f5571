"""The serif cut down to the letters of one page, so that the page can carry it."""

from __future__ import annotations

import io
from pathlib import Path
from typing import Literal

import font_source_serif_pro
from fontTools.subset import Options, Subsetter
from fontTools.ttLib import TTFont

Face = Literal["Regular", "It", "Semibold"]
# Small capitals and lining, tabular figures are what the pages ask of the serif.
_FEATURES = ["kern", "liga", "lnum", "tnum", "c2sc", "smcp"]


def serif(letters: str, face: Face = "Regular") -> bytes:
    """A WOFF font with the glyphs of these letters; letters that the serif lacks are left out.

    WOFF 1.0, which every browser reads and which needs no compressor beyond Python's own.
    """
    path = Path(font_source_serif_pro.font_directory) / f"SourceSerifPro-{face}.otf"
    options = Options(flavor="woff", layout_features=_FEATURES, hinting=False, notdef_outline=True)
    subsetter = Subsetter(options)
    subsetter.populate(text=letters)
    written = io.BytesIO()
    with TTFont(path) as font:
        subsetter.subset(font)
        # A fixed date, so that equal letters give equal bytes on any day.
        font["head"].modified = font["head"].created
        font.recalcTimestamp = False
        font.flavor = "woff"
        font.save(written)
    return written.getvalue()
