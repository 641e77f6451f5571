"""A page of many pictures that draws each sign once looks as it did, and is small."""

import re

from bot.music.voice import Clef
from bot.notation.engrave import png, svg
from bot.notation.shared_signs import with_shared_signs
from bot.notation.write import musicxml
from tests.notation.lines import exercise
from tests.notation.pixels import pixels

_LINE = exercise("F", "4/4", "0:q 1:q 2:q 0:q 4:q 3:q 2:h 1:q 2:q 3+:q 1:e 1:e 1:q r:q 0:h")


def _picture():
    return svg(musicxml(_LINE, clefs=(Clef.TREBLE,)))


def _drawn_by_itself(page, number):
    """A picture of the page with the outlines that it names, as one drawing."""
    kept, *pictures = re.findall(r"<svg.*?</svg>", page, re.DOTALL)
    outlines = re.search(r"<defs>.*</defs>", kept)[0]
    opening = re.match(r"<svg[^>]*>", pictures[number])[0]
    return pictures[number].replace(opening, opening + outlines, 1)


def test_signs_are_drawn_once_and_every_picture_looks_as_before():
    picture = _picture()
    page = with_shared_signs(f"<html><body class='x'>{picture}<p>text</p>{picture}</body></html>")

    assert len(page) < 1.2 * len(picture)
    assert page.count("<svg") == 3
    names = re.findall(r'href="#(\w+)"', page)
    assert set(names) == set(re.findall(r'<path id="(\w+)"', page))
    for number in (0, 1):
        here, before = (
            pixels(png(drawn)).astype(int) for drawn in (_drawn_by_itself(page, number), picture)
        )
        # Where strokes of one pen cross, a soft edge is a shade lighter; nothing else may differ.
        apart = abs(here - before).max(axis=2)
        assert apart.max() < 64
        assert (apart > 0).mean() < 0.001


def test_a_page_without_pictures_stays_as_it_is_but_for_the_empty_drawing():
    page = with_shared_signs("<html><body><p>text</p></body></html>")
    assert re.sub(r"<svg.*</svg>", "", page) == "<html><body><p>text</p></body></html>"
    assert with_shared_signs("no body") == "no body"
