"""Words under notes, and numbers over them: what is near what, measured in the picture."""

import re
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from bot.media.render import make
from bot.media.request import Engraved, EngravingRequest
from bot.music.page_options import PageOptions, Under
from bot.music.voice import Clef
from bot.notation import even
from bot.notation.engrave import EngravingStyle, png, svg
from bot.notation.marks import SPACE
from bot.notation.picture import note_boxes
from bot.notation.write import musicxml
from tests.notation.lines import exercise
from tests.notation.pixels import pixels

_QUARTERS = exercise("F", "4/4", "4:q 4:q 5:q 5:q 4:q 4:q 4:q 5:q 4:q 4:q 4:q 2:q 1:q 1:q 0:h")
_WORDS = (
    *("Lan-", "terns", "glow", "a-", "long", "the", "riv-", "er"),
    *("soft", "and", "still", "they", "shine", "all", "night"),
)
_LONG = exercise("F", "4/4", "2:e 1:e 2:e 3:e 4:h 5:w 4:q 3:q 2:q 1:q 0:w")
_LONG_WORDS = (
    *("Through", "the", "strength-", "ened", "door-", "ways"),
    *("bright-", "est", "lan-", "terns", "stretched"),
)
_PARTS = exercise("F", "4/4", "4:q 3:e 2:e 1:q 0:q 0:w", "-3:q 0:q -1:e 0:e -3:q -3:w")


def _worded(made, words):
    return replace(made, parts=(replace(made.parts[0], words=words),))


def _picture(made, style=None):
    return svg(musicxml(made, clefs=(Clef.TREBLE,)), style)


def _spread(picture, made):
    """Greatest over least room of a quarter note in its measure, system by system; the worst."""
    heads = zip(made.parts[0].timed(), note_boxes(picture), strict=True)
    systems = [[]]
    for ((_, note), head), ((onset, _), after) in pairwise(heads):
        if after.x < head.x:
            systems.append([])
        elif note.duration.denominator == 4 and onset % made.metre.measure:
            systems[-1].append(after.x - head.x)
    return max(max(system) / min(system) for system in systems if system)


def test_notes_of_one_length_stand_alike_under_words_of_every_length(monkeypatch):
    made = _worded(_QUARTERS, _WORDS)
    assert _spread(_picture(made), made) < 1.3
    monkeypatch.setattr(even, "_WIDER", ())
    assert _spread(_picture(made), made) > 1.4


_TEXT = r"translate\((-?\d+),(-?\d+)\)scale\(([\d.]+),-\3\)"
_LINE = r'<path d="M(-?\d+) (-?\d+) L(-?\d+) (-?\d+)" stroke'


def _lines_of_text(picture):
    """Base lines of the texts under the staves, and the staves' (top, bottom); from the top."""
    system = picture[: picture.index("</g></svg>")]
    texts = {float(y) for _, y, size in re.findall(_TEXT, system) if 0.2 < float(size) < 0.45}
    strokes = [tuple(map(float, each)) for each in re.findall(_LINE, system)]
    level = sorted({y for a, y, b, z in strokes if y == z and b - a > 6 * SPACE})
    return sorted(texts), [(level[n], level[n + 4]) for n in range(0, len(level), 5)]


@pytest.mark.parametrize("under", [(Under.SYLLABLES,), (Under.SYLLABLES, Under.BEATS)])
def test_a_text_stands_nearer_to_its_own_staff_than_to_the_next(under):
    request = EngravingRequest(
        exercise=_PARTS,
        clefs=(Clef.TREBLE,) * 2,
        kind=Engraved.SVG,
        mark_do=False,
        measure_numbers=False,
        page=PageOptions(under=under),
    )
    texts, staves = _lines_of_text(make(request).decode())
    assert len(staves) == 2
    (_, above), (below, _) = staves
    between = [y for y in texts if above < y < below]
    assert len(between) == len(under)
    capitals = 1.5 * SPACE
    assert between[0] - capitals - above < 0.8 * (below - between[-1])
    assert all(b - a > 2.2 * SPACE for a, b in pairwise(between))


@pytest.mark.parametrize("made", [_worded(_LONG, _LONG_WORDS), _worded(_QUARTERS, _WORDS)])
@pytest.mark.parametrize("style", [EngravingStyle(), EngravingStyle(phone=True)], ids=str)
def test_there_is_white_between_the_words(made, style):
    bare = replace(style, mark_do=False, measure_numbers=False)
    drawn = _picture(made, bare)
    scale = 1600 / float(re.search(r'viewBox="0 0 (\d+)', drawn)[1])
    dark = pixels(png(drawn, 1600))[:, :, :3].max(axis=2) < 128
    margin = re.search(r"translate\(\d+, (\d+)\)", drawn)
    for line in _lines_of_text(drawn)[0]:
        foot = (line + float(margin[1])) * scale
        height = round(0.9 * SPACE * scale)
        row = dark[round(foot) - height : round(foot) - 1].any(axis=0)
        gaps = np.diff(np.flatnonzero(row)) - 1
        assert (gaps > 0.4 * SPACE * scale).sum() >= 3


def test_no_system_begins_with_a_hyphen():
    made = _worded(_QUARTERS, _WORDS)
    drawn = _picture(made, EngravingStyle(phone=True, mark_do=False))
    strokes = re.findall(r'<rect x="(-?\d+)"[^>]*width="(\d+)"', drawn)
    hyphens = [float(x) for x, width in strokes if 60 < float(width) < 260]
    first = min(box.x for box in note_boxes(drawn))
    assert hyphens
    assert all(x > first - 2 * SPACE for x in hyphens)


_NUMBER = r'<g opacity="[^"]*">.*?</g>'
_HIGH = exercise("C", "6/8", "0:qd 1:e 2:e 7:e 2:qd 7:qd 7:e 8:e 9:e 9:qd 2:hd " * 2)
_RHYTHM = EngravingRequest(
    exercise=_HIGH,
    clefs=(Clef.TREBLE,),
    kind=Engraved.SVG,
    mark_do=False,
    page=PageOptions(rhythm_only=True),
)


@pytest.mark.parametrize(
    "request_",
    [
        replace(_RHYTHM, page=PageOptions()),
        replace(_RHYTHM, page=PageOptions(), phone=True),
        _RHYTHM,
        replace(_RHYTHM, exercise=_PARTS, clefs=(Clef.TREBLE,) * 2),
    ],
    ids=["high notes", "on a phone", "rhythm", "rhythm in parts"],
)
def test_measure_numbers_touch_nothing(request_):
    whole = make(request_).decode()
    found = re.findall(_NUMBER, whole)
    assert found
    begin = whole.index(">", whole.index("translate(")) + 1
    alone = f"{whole[:begin]}{''.join(found)}</g></svg>"
    numbers, rest = (
        pixels(png(each, 1000))[:, :, :3].max(axis=2)
        for each in (alone, re.sub(_NUMBER, "", whole))
    )
    near = 3  # pixels around
    around = np.zeros(numbers.shape, dtype=bool)
    for down in range(-near, near + 1):
        for right in range(-near, near + 1):
            around |= np.roll(numbers < 200, (down, right), (0, 1))
    assert not (around & (rest < 128)).any()
    assert not (numbers[:2] < 200).any()
