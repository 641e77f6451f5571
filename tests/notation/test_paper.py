"""Pages of words and music: looked at as they come out of the printer."""

import io

import numpy as np
import pypdfium2
import pytest
from PIL import Image

from bot.errors import RenderFailed
from bot.music.voice import Clef
from bot.notation.engrave import EngravingStyle, png, svg
from bot.notation.paper import Block, PaperPage, Picture, paper
from bot.notation.write import musicxml
from tests.notation.lines import exercise

_SCALE = 3.0
_FOOT = (
    Block(title="How", lines=("Look first.", "Then sing."), numbered=True),
    Block(title="Care", lines=("Stop when it hurts.",), small=True),
)


@pytest.fixture(scope="module")
def line():
    made = exercise("F", "3/4", "0:q 1:e 2:e 4:q 3:q r:q 2:q 2:h r:q 0:hd")
    return svg(musicxml(made, clefs=(Clef.TREBLE,)), EngravingStyle(measure_numbers=False))


def _page(*pictures, blocks=_FOOT):
    return PaperPage(heading="Choir · Monday", facts="F major", pictures=pictures, blocks=blocks)


def _read(data):
    """Every page as (text, darkness); darkness is 0 white to 1 black."""
    document = pypdfium2.PdfDocument(data)
    found = []
    for page in document:
        gray = page.render(scale=_SCALE, grayscale=True).to_numpy()
        text = page.get_textpage().get_text_range().replace("\r\n", "\n")
        found.append((text, 1 - gray.reshape(gray.shape[:2]) / 255))
    document.close()
    return found


def _inked(darkness):
    """The box of all ink, cut out."""
    rows, columns = (
        np.flatnonzero(darkness.max(axis=1) > 0.3),
        np.flatnonzero(darkness.max(axis=0) > 0.3),
    )
    return darkness[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]


def _coarse(darkness, rows=24, columns=48):
    image = Image.fromarray((255 * darkness).astype(np.uint8))
    return np.asarray(image.resize((columns, rows), Image.Resampling.BOX)) / 255


def test_words_can_be_read_out_and_searched(line):
    ((text, _),) = _read(paper([_page(Picture(svg=line))], title="Week"))

    assert "Choir · Monday" in text
    assert "F major" in text
    assert "1." in text
    assert "Then sing." in text
    assert "Stop when it hurts." in text


def test_the_page_shows_the_pictures_ink_at_its_own_proportions(line):
    only = PaperPage(heading="", pictures=(Picture(svg=line),))

    ((_, darkness),) = _read(paper([only], title=""))

    printed = _inked(darkness)
    with Image.open(io.BytesIO(png(line, 1600, ink="#000000", paper="#ffffff"))) as image:
        painted = _inked(1 - np.asarray(image.convert("L")) / 255)
    assert printed.shape[1] / printed.shape[0] == pytest.approx(
        painted.shape[1] / painted.shape[0], rel=0.02
    )
    difference = np.abs(_coarse(printed) - _coarse(painted))
    assert _coarse(painted).max() > 0.3
    assert difference.mean() < 0.02
    assert difference.max() < 0.25


def test_three_lines_and_their_words_share_one_page(line):
    pictures = [Picture(svg=line, caption=f"Part {number}") for number in "123"]

    ((text, darkness),) = _read(paper([_page(*pictures)], title="Week"))

    assert [text.index(f"Part {number}") for number in "123"] == sorted(
        text.index(f"Part {number}") for number in "123"
    )
    assert "Stop when it hurts." in text
    assert darkness[:, : int(40 * _SCALE)].max() == 0  # nothing in the margins
    assert darkness[:, -int(40 * _SCALE) :].max() == 0


def test_nothing_is_printed_in_anything_but_black(line):
    document = pypdfium2.PdfDocument(paper([_page(Picture(svg=line))], title="Week"))
    colours = document[0].render(scale=1).to_numpy().reshape(-1, 3).astype(int)
    document.close()

    assert np.abs(colours.max(axis=1) - colours.min(axis=1)).max() <= 3


def test_large_print_sets_words_at_eighteen_points(line):
    small, large = (
        paper([PaperPage(heading="M", blocks=(Block(title="", lines=("x",)),))], title="", large=on)
        for on in (False, True)
    )

    def heights(data):
        document = pypdfium2.PdfDocument(data)
        sizes = {
            round(one.get_bounds()[3] - one.get_bounds()[1], 1) for one in document[0].get_objects()
        }
        document.close()
        return max(sizes)

    assert heights(large) > 1.4 * heights(small)


def test_words_that_find_no_room_beside_the_music_go_on_to_the_next_page(line):
    many = Block(title="", lines=tuple(f"Line {number}" for number in range(70)))

    pages = _read(paper([_page(Picture(svg=line), blocks=(many,))], title="Week"))

    assert len(pages) > 1
    assert "Line 69" in pages[-1][0]
    assert pages[0][1].mean() > 0.005


def test_equal_pages_give_equal_bytes_and_an_index(line):
    pages = [PaperPage(heading="One", mark="One"), PaperPage(heading="Two", mark="Two")]

    data = paper(pages, title="Week")

    assert data == paper(pages, title="Week")
    document = pypdfium2.PdfDocument(data)
    assert [mark.get_title() for mark in document.get_toc()] == ["One", "Two"]
    document.close()


def test_words_that_look_like_markup_stay_words():
    ((text, _),) = _read(paper([PaperPage(heading="<b>A & B</b>")], title="<i>"))

    assert "<b>A & B</b>" in text


def test_a_broken_picture_and_no_page_at_all_are_refused():
    with pytest.raises(RenderFailed, match="could not be read"):
        paper([_page(Picture(svg="<svg"))], title="")
    with pytest.raises(ValueError, match="at least one page"):
        paper([], title="")
