"""Staves of one size on every page of a print, and on every sheet that hangs beside others."""

import numpy as np
import pypdfium2
import pytest

from bot.media.render import make
from bot.media.request import Engraved, EngravingRequest
from bot.music.page_options import PageOptions, Under
from bot.music.voice import Clef
from bot.notation.engrave import EngravingStyle, svg
from bot.notation.marks import SPACE
from bot.notation.paper import Block, Grid, PaperPage, Picture, paper
from bot.notation.write import musicxml
from tests.notation.lines import exercise

_EASY = exercise("F", "2/4", "0:q 1:q 2:h 1:q 1:q 0:h")
_FULL = exercise("Eb", "4/4", "0:s 1:s 2:s 3:s 4:e 3:e 2:e 1:e 0:q " * 8)
_PARTS = exercise("Eb", "2/4", *("0:q 1:q 2:h 1:q 1:q 0:h " * 2,) * 3, octaves=(4, 4, 3))
_CLEFS = (Clef.TREBLE, Clef.TREBLE8, Clef.BASS)
_ALL = (_EASY, _FULL, _PARTS)
_WORDS = (Block(title="How", lines=("Look first.",) * 9),)


def _drawn(made, **style):
    labels = ("Part I", "Part II", "Part III") if len(made.parts) > 1 else ()
    written = musicxml(made, clefs=_CLEFS[: len(made.parts)], labels=labels)
    return svg(written, EngravingStyle(**style))


def _spaces(drawn):
    return float(drawn.split('viewBox="0 0 ')[1].split()[0]) / SPACE


def test_on_sheets_all_music_is_of_one_size_and_else_as_large_as_it_can():
    sheets = [_spaces(_drawn(made, sheet=True)) for made in _ALL]
    assert max(sheets) - min(sheets) < 0.01 * max(sheets)
    alone = [_spaces(_drawn(made)) for made in _ALL]
    assert max(alone) > 1.2 * min(alone)


def test_texts_under_the_notes_change_nothing_about_the_size_of_a_sheet():
    page = PageOptions(under=(Under.SYLLABLES, Under.BEATS))
    drawn = make(
        EngravingRequest(
            exercise=_FULL, clefs=(Clef.TREBLE,), kind=Engraved.SVG, sheet=True, page=page
        )
    ).decode()
    assert _spaces(drawn) == pytest.approx(_spaces(_drawn(_EASY, sheet=True)), rel=0.01)


_FINE = 4.0


def _staves(data):
    """Height of every staff on every page in points, and its distance from the page's left."""
    found = []
    for page in pypdfium2.PdfDocument(data):
        grey = page.render(scale=_FINE, grayscale=True).to_numpy()
        dark = grey.reshape(grey.shape[:2]) < 140
        long = [_longest(row) > 0.2 * dark.shape[1] for row in dark]
        rows = np.flatnonzero(long)
        lines = [
            part.mean()
            for part in np.split(rows, np.flatnonzero(np.diff(rows) > 1) + 1)
            if part.size
        ]
        assert len(lines) % 5 == 0
        found.append([(lines[n + 4] - lines[n]) / _FINE for n in range(0, len(lines), 5)])
    return found


def _longest(row):
    edges = np.flatnonzero(np.diff(np.concatenate(([0], row.astype(np.int8), [0]))))
    return max(edges[1::2] - edges[::2], default=0)


@pytest.mark.parametrize(
    ("style", "large"), [({"sheet": True}, False), ({"phone": True}, True), ({}, False)], ids=str
)
def test_every_staff_of_a_print_is_as_high_as_the_others(style, large):
    pages = [
        PaperPage(heading="x", pictures=(Picture(svg=_drawn(made, **style)),), blocks=_WORDS)
        for made in _ALL
    ]
    many = (Picture(svg=_drawn(_EASY, **style), caption="c"),) * 4
    pages.append(PaperPage(heading="four", pictures=many))
    heights = [height for page in _staves(paper(pages, title="", large=large)) for height in page]
    assert len(heights) >= 3 + 3 + 4 + 4
    assert max(heights) - min(heights) <= 0.01 * max(heights) + 1 / _FINE


def test_a_sheet_fills_the_width_of_the_page_and_its_staff_is_easy_to_read():
    data = paper(
        [PaperPage(heading="x", pictures=(Picture(svg=_drawn(_EASY, sheet=True)),))], title=""
    )
    ((height,),) = _staves(data)
    assert 23 < height < 32  # points: 8 to 11 mm


def test_hearing_lines_keep_their_size_where_fewer_stand_on_a_page():
    picture = Picture(
        svg=_drawn(_EASY, sheet=True), caption="1", grid=Grid(columns=("a",), rows=("b",))
    )
    pages = [PaperPage(heading="x", pictures=(picture,) * count) for count in (4, 1)]
    four, one = _staves(paper(pages, title=""))
    assert len(four) == 4
    assert one[0] == pytest.approx(four[0], abs=1 / _FINE)


def test_two_systems_of_large_print_share_a_page_where_a_little_less_makes_room():
    drawn = _drawn(_PARTS, phone=True)
    data = paper([PaperPage(heading="x", pictures=(Picture(svg=drawn),))], title="", large=True)
    assert [len(page) for page in _staves(data)] == [6, 6]
