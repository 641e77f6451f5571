"""Pictures cut between their systems, and large print that stays large on paper."""

import numpy as np
import pypdfium2
import pytest

from bot.media.render import make
from bot.media.request import Engraved, EngravingRequest
from bot.music.page_options import PageOptions, Under
from bot.music.voice import Clef
from bot.notation.engrave import png
from bot.notation.paper import Block, PaperPage, Picture, paper
from bot.notation.pdf import pdf
from bot.notation.systems import systems
from tests.notation.lines import exercise
from tests.notation.pixels import ink, staves

LONG = exercise("F", "4/4", "0:q 1:q 2:q 1:q 4:h 2:h 3:q 2:q 1:q 0:q 1:w 0:q 1:q 2:h 4:w 1:w 0:w")
TWO = exercise("G", "4/4", "4:q 4:q 4:h 2:w", "2:q 0:q 0:h 0:w")
PX = 700
UNDER = (Under.SYLLABLES, Under.BEATS)


def drawn(made=LONG, **options):
    request = EngravingRequest(
        exercise=made,
        clefs=(Clef.TREBLE,) * len(made.parts),
        kind=Engraved.SVG,
        page=PageOptions(under=UNDER, **options),
    )
    return make(request).decode()


def test_the_systems_below_one_another_are_the_picture_again():
    whole = drawn(one_a_line=True)
    rows = systems(whole)
    assert len(rows) == LONG.measures
    again = np.concatenate([ink(png(row, PX)) for row in rows])
    before = ink(png(whole, PX))
    assert abs(again.shape[0] - before.shape[0]) <= len(rows)
    # Nothing is lost, and nothing stands twice.
    assert again.sum() == pytest.approx(before.sum(), rel=0.04)
    assert [len(staves(png(row, PX))) for row in rows] == [1] * LONG.measures


def test_parts_of_one_system_stay_together():
    (whole,) = systems(drawn(TWO))
    assert whole == drawn(TWO)
    rows = systems(drawn(TWO, one_a_line=True))
    assert [len(staves(png(row, PX))) for row in rows] == [2, 2]


def test_a_picture_from_elsewhere_comes_back_as_it_is():
    other = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9"><path d="M0 0H9"/></svg>'
    assert systems(other) == (other,)


def _staff_points(data):
    """Height of the first staff on each page that has one, in points."""
    found = []
    for page in pypdfium2.PdfDocument(data):
        grey = page.render(scale=3, grayscale=True).to_numpy()
        dark = grey.reshape(grey.shape[:2]) < 140
        rows = np.flatnonzero(dark.sum(axis=1) > 0.4 * dark.shape[1])
        groups = np.split(rows, np.flatnonzero(np.diff(rows) > 1) + 1)
        if len(groups) >= 5:
            found.append((groups[4].mean() - groups[0].mean()) / 3)
    return found


def _on_paper(svg):
    words = Block(title="How", lines=("Look first.", "Then sing."), numbered=True)
    return paper([PaperPage(heading="x", pictures=(Picture(svg=svg),), blocks=(words,))], title="x")


@pytest.mark.parametrize("printed", [_on_paper, lambda svg: pdf([svg], title="x")])
@pytest.mark.parametrize("options", [{"large": True}, {"one_a_line": True}], ids=str)
def test_large_print_is_large_on_paper_and_goes_on_to_the_next_page(printed, options):
    usual = _staff_points(printed(drawn()))
    large = _staff_points(printed(drawn(**options)))
    assert len(usual) == 1
    assert len(large) >= 2
    assert min(large) > 1.4 * usual[0]


def test_every_measure_is_printed_once():
    data = pdf([drawn(one_a_line=True)], title="")
    staff_lines = 0
    for page in pypdfium2.PdfDocument(data):
        grey = page.render(scale=3, grayscale=True).to_numpy()
        dark = grey.reshape(grey.shape[:2]) < 140
        rows = np.flatnonzero(dark.sum(axis=1) > 0.4 * dark.shape[1])
        staff_lines += len(np.split(rows, np.flatnonzero(np.diff(rows) > 1) + 1))
    assert staff_lines == 5 * LONG.measures
