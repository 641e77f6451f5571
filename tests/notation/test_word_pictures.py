"""Lines with words as pictures: one text a note, two measures a line on the phone."""

import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import pytest

from bot.music.turns import retrograde, rhythm_only
from bot.music.voice import Clef
from bot.notation.abc import exercise_from_abc
from bot.notation.abc_write import exercise_to_abc
from bot.notation.engrave import EngravingStyle, svg
from bot.notation.lettering import Run, music_boxes, text_width
from bot.notation.picture import note_boxes
from bot.notation.read import LeftOut, music_from_musicxml
from bot.notation.write import musicxml
from tests.notation.lines import exercise

_LINE = exercise("F", "4/4", "0:q 1:q 2:q 0:q 4:q 3:q 2:h 1:q 2:q 3:q 1:q 1:q r:q 0:h")
_WORDS = (
    *("Twin-", "kle,", "twin-", "kle,", "lit-", "tle", "star"),
    *("how", "I", "won-", "der", "what", "are"),
)


def _worded():
    return replace(_LINE, parts=(replace(_LINE.parts[0], words=_WORDS),))


def _written(made):
    return musicxml(made, clefs=(Clef.TREBLE,))


def _systems(picture):
    return 1 + sum(after.x < before.x for before, after in pairwise(note_boxes(picture)))


def test_each_note_has_its_syllable_and_rests_have_none():
    root = ET.fromstring(_written(_worded()))
    shown = []
    for note in root.iter("note"):
        lyrics = note.findall("lyric")
        assert len(lyrics) == (0 if note.find("rest") is not None else 1)
        shown += [(each.findtext("text"), each.findtext("syllabic")) for each in lyrics]
    assert shown[:3] == [("Twin", "begin"), ("kle,", "end"), ("twin", "begin")]
    assert ("star", "single") in shown
    assert len(shown) == len(_WORDS)


def test_words_come_back_from_the_file_and_half_a_verse_does_not():
    music = music_from_musicxml(_written(_worded()), "file.musicxml")
    assert music.exercise == _worded()
    assert music.left_out == ()
    half = _written(_worded()).replace(b"<text>star</text>", b"<text/>")
    music = music_from_musicxml(half, "file.musicxml")
    assert music.exercise == _LINE
    assert music.left_out == (LeftOut.WORDS,)


def test_the_words_are_in_the_picture_and_the_phone_has_two_measures_a_line():
    plain, worded = (_written(made) for made in (_LINE, _worded()))
    for style in (EngravingStyle(), EngravingStyle(phone=True)):
        assert svg(worded, style).count("<path") >= svg(plain, style).count("<path") + len(_WORDS)
    assert _systems(svg(worded, EngravingStyle(phone=True))) == 2
    assert _systems(svg(worded)) == 1


def test_a_line_keeps_its_words_in_bare_rhythm_and_loses_them_backwards():
    assert retrograde(_worded()).parts[0].words == ()
    assert rhythm_only(_worded()).parts[0].words == _WORDS


def test_abc_has_the_words_under_their_notes_and_the_music_comes_back():
    text = exercise_to_abc(_worded())
    lines = text.splitlines()
    assert "w: Twin- kle, twin- kle, lit- tle star how I won- der what are" in lines
    assert exercise_from_abc(text) == _worded()
    hyphen = replace(_LINE, parts=(replace(_LINE.parts[0], words=("a-b", *_WORDS[1:])),))
    assert "w: a\\-b kle," in exercise_to_abc(hyphen)


_LETTER = r'<path transform="translate\((-?\d+),\d+\)scale\(([\d.]+),[^>]*>'
_STROKE = r'<rect x="(-?\d+)"[^>]*width="(\d+)"'


def _letters(drawn):
    """Signs and strokes of a picture as drawn: where each begins, its scale or its width."""
    signs = re.findall(f"{_LETTER}|{_STROKE}", drawn)
    return [(int(x or left), float(size or 0), int(width or 0)) for x, size, left, width in signs]


def test_a_hyphen_stands_midway_between_its_syllables():
    words = ("har-", "bor", *_WORDS[2:])
    made = replace(_LINE, parts=(replace(_LINE.parts[0], words=words),))
    found = _letters(svg(_written(made)))
    at = next(n for n, (_, _, width) in enumerate(found) if width and 60 < width < 200)
    (start, size, _), (hyphen, _, width) = found[at - 3], found[at]
    after = next(x for x, scale, _ in found[at:] if scale == size)
    end = start + text_width((Run(text="har", size=1000 * size),))
    assert hyphen + width / 2 == pytest.approx((end + after) / 2, abs=3)
    assert end < hyphen < hyphen + width < after


@pytest.mark.parametrize("line", ["0:qd 0:e 0:q -3:q 0:qd 1:e 0:h", "0:e 1:q 2:e 1:qd 0:e"])
def test_a_flag_keeps_clear_of_the_next_note(line):
    made = exercise("F", "4/4", line)
    heads = note_boxes(svg(_written(made)))
    flag = 0.72 * music_boxes()["E240"].width
    for note, head, after in zip(made.parts[0].notes, heads, heads[1:], strict=False):
        if note.duration == Fraction(1, 8):
            assert after.x - (head.x + head.width) > flag
