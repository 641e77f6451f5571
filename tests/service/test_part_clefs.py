"""The clef of each part: the choir's, and the bass clef for a low part of a voice that divides."""

from dataclasses import replace
from pathlib import Path

import pytest

from bot.music.parts import PART_RANGES
from bot.music.pitch import Key, Pitch
from bot.music.sequence import KeyOrder
from bot.music.voice import Clef
from bot.service.card import Arrangement, Media
from bot.service.content import load_content
from bot.service.media_requests import media_request
from bot.service.part_clefs import divided
from bot.service.placing import placed, relabelled
from tests.fakes.choirs import BARITONE, CHANGING, TREBLE, a_choir, a_line, a_reading, an_exercise

CONTENT = Path(__file__).parents[2] / "content"


@pytest.mark.parametrize(
    ("voice", "sung", "chosen", "clefs"),
    [
        (CHANGING, ("G3 F4", "C3 Bb3"), Clef.TREBLE8, "treble8 bass"),
        (CHANGING, ("A3 A4", "G3 F4", "Bb2 C4"), Clef.TREBLE8, "treble8 treble8 bass"),
        (CHANGING, ("G3 C4", "G3 C4"), Clef.TREBLE8, "treble8 bass"),
        (CHANGING, ("G3 F4", "G3 D4"), Clef.TREBLE8, "treble8 treble8"),
        (CHANGING, ("G3 F4", "C3 Bb3"), Clef.TREBLE, "treble treble"),
        (CHANGING, ("G3 F4", "C3 Bb3"), Clef.BASS, "bass bass"),
        (CHANGING, ("G3 C4",), Clef.TREBLE8, "treble8"),
        (TREBLE, ("C4 D5", "Bb3 C4"), Clef.TREBLE, "treble treble"),
        (BARITONE, ("C3 C4", "C3 E3"), Clef.BASS, "bass bass"),
    ],
)
def test_a_low_part_is_read_in_the_bass_clef_unless_another_was_chosen(voice, sung, chosen, clefs):
    lines = [[Pitch.parse(each) for each in line.split()] for line in sung]
    assert " ".join(part.clef for part in divided(replace(voice, clef=chosen), lines)) == clefs


def test_a_low_part_keeps_its_clef_alone_and_follows_what_is_chosen_at_the_desk():
    choir = a_choir(voices=(CHANGING,))
    lines = replace(an_exercise(key="G"), parts=(a_line(2, 3, 4), a_line(4, 3, 4, last=2)))
    in_g = (Key.parse("G"),)
    keys = KeyOrder(treble=in_g, low=in_g, mixed=in_g)
    say = load_content([CONTENT]).wording
    parts = placed(lines, [(0, 3), (1, 2)], choir, keys, say)
    reading = replace(a_reading(), exercise=lines, parts=parts)

    alone = media_request(reading, choir, Arrangement.APART, 1, Media.PICTURE_SVG)
    score = media_request(reading, choir, Arrangement.TOGETHER, 0, Media.PICTURE_SVG)
    low = PART_RANGES[CHANGING.voice, 2][1]
    assert all(map(low.holds, alone.exercise.pitches()))
    assert (alone.clefs, score.clefs) == ((Clef.BASS,), (Clef.TREBLE8, Clef.BASS))

    treble = replace(choir, voices=(replace(CHANGING, clef=Clef.TREBLE),))
    changed = replace(reading, parts=relabelled(reading, treble))
    assert [part.clef for part in changed.parts] == [Clef.TREBLE] * 2
    assert relabelled(changed, choir) == parts
