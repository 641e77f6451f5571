"""PDF: looked at as it comes out of the printer, pixel by pixel."""

import io

import numpy as np
import pypdfium2
import pytest
from PIL import Image

from bot.errors import RenderFailed
from bot.music.voice import Clef
from bot.notation.engrave import EngravingStyle, png, svg
from bot.notation.pdf import pdf
from bot.notation.write import musicxml
from tests.notation.lines import exercise

_MARGIN_PT = 43.0
_NESTED = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="400" height="200" viewBox="0 0 400 200" '
    'fill="currentColor" stroke="none"><svg x="200" y="50" width="100" height="100" '
    'viewBox="0 0 10 10"><rect x="5" y="0" width="5" height="10"/></svg>'
    '<g transform="translate(20, 20)"><path transform="translate(10,60)scale(2,-2)" '
    'd="M0 0L20 0L20 20Z"/></g></svg>'
)


@pytest.fixture(scope="module")
def picture():
    made = exercise("F", "3/4", "0:q 1:e 2:e 4:q 3+:q r:q 2:q~ 2:h r:q 0:hd")
    style = EngravingStyle(measure_numbers=False)
    return svg(musicxml(made, clefs=(Clef.TREBLE,)), style)


def _pages(data, scale=2.0):
    """Pages as darkness, 0 white to 1 black, `scale` pixels a point."""
    document = pypdfium2.PdfDocument(data)
    pages = [page.render(scale=scale, grayscale=True).to_numpy() for page in document]
    document.close()
    return [1 - page.reshape(page.shape[:2]) / 255 for page in pages]


def _painted(picture, width_px):
    """The same picture as resvg paints it, black on white."""
    data = png(picture, width_px, ink="#000000", paper="#ffffff")
    with Image.open(io.BytesIO(data)) as image:
        return 1 - np.asarray(image.convert("L")) / 255


def _coarse(darkness, cell=8):
    """Mean darkness of square cells: small shifts of an edge do not matter."""
    rows, columns = (size // cell for size in darkness.shape)
    cut = darkness[: rows * cell, : columns * cell]
    return cut.reshape(rows, cell, columns, cell).mean(axis=(1, 3))


@pytest.mark.parametrize("nested", [False, True])
def test_the_paper_shows_the_ink_of_the_picture(picture, nested):
    shown = _NESTED if nested else picture

    (page,) = _pages(pdf([shown], title=""), scale=3.0)

    left = round(_MARGIN_PT * 3)
    painted = _painted(shown, page.shape[1] - 2 * left)
    height = painted.shape[0]
    printed = page[left : left + height, left : left + painted.shape[1]]
    difference = np.abs(_coarse(printed) - _coarse(painted))
    assert painted.mean() > 0.01
    assert printed.mean() == pytest.approx(painted.mean(), rel=0.04)
    # Hairlines may lie a fraction of a pixel lower; a sign that lacks or moves shows far more.
    assert difference.max() < 0.2
    assert difference.mean() < 0.01
    assert page[left + height + 6 :].max() == 0


def test_equal_pictures_give_equal_bytes_on_any_day(picture):
    assert pdf([picture], title="Line") == pdf([picture], title="Line")
    assert b"(D:2000" in pdf([picture], title="Line")


@pytest.mark.parametrize(("page", "points"), [("letter", (612, 792)), ("a4", (595, 842))])
def test_each_picture_has_a_page_of_its_own(picture, page, points):
    document = pypdfium2.PdfDocument(pdf([picture, _NESTED, picture], title="Week", page=page))

    sizes = [tuple(map(round, each.get_size())) for each in document]
    title = document.get_metadata_value("Title")
    document.close()
    assert (sizes, title) == ([points] * 3, "Week")


def test_the_title_stands_over_the_first_picture_only(picture):
    first, second = _pages(pdf([_NESTED, _NESTED], title="Tuesday’s line, é"))

    top = round(_MARGIN_PT * 2)
    assert first[top : top + 60].sum() > 100
    assert second[top : top + 60, :200].sum() < first[top : top + 60, :200].sum()


def test_a_long_title_stays_on_the_page():
    (page,) = _pages(pdf([_NESTED], title="A very long title of a reading " * 6))

    edge = round(_MARGIN_PT * 2) - 2
    assert page[:, :edge].max() == 0
    assert page[:, -edge:].max() == 0


def test_a_tall_picture_is_made_to_fit_the_height():
    tall = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="100" height="900" viewBox="0 0 100 900">'
        '<rect width="100" height="900" fill="currentColor"/></svg>'
    )

    (page,) = _pages(pdf([tall], title=""))

    edge = round(_MARGIN_PT * 2) - 2
    assert page[:edge].max() == page[-edge:].max() == 0
    assert page[page.shape[0] // 2, page.shape[1] // 2] == 1


@pytest.mark.parametrize("picture", ["<svg", '<svg xmlns="http://www.w3.org/2000/svg"/>'])
def test_a_picture_that_cannot_be_read_is_told(picture):
    with pytest.raises(RenderFailed):
        pdf([picture], title="")


def test_a_document_without_a_page_is_refused():
    with pytest.raises(ValueError, match="at least one page"):
        pdf([], title="Nothing")
