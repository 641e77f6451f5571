"""Lines that stay on two or three tones beside home are left where there are others."""

from random import Random

import pytest

from bot.music.breadth import goes_somewhere
from bot.music.companion import Footing
from bot.music.composer import Composer
from bot.music.room_lines import room_lines
from bot.music.syllable import tone_of
from bot.music.voice import DEFAULT_RANGES, Voice
from tests.music.levels import level, steps_first

_WIDE = "la, ti, do re mi fa so la"
_FEW = "do re mi"


def _tones(words):
    return [tone_of(word) for word in words.split()]


@pytest.mark.parametrize(
    ("line", "measures", "offered", "goes"),
    [
        ("do re mi fa so fa mi re do re mi fa so mi re do", 8, _WIDE, True),
        ("do ti, do re do ti, re do mi re do ti, ti, re do do", 8, _WIDE, False),  # a fourth
        ("do re mi so so mi re do do re mi so so mi re do", 8, _WIDE, False),  # four tones
        ("do do do so do do so mi do do do so re do fa do", 8, _WIDE, False),  # do and so
        ("do re mi re do re mi do", 8, _FEW, True),  # as far as these tones go
        ("do do do do", 8, _FEW, False),
        ("do re mi fa mi re do", 4, _WIDE, True),
        ("do re mi re mi re do", 4, _WIDE, False),
        ("do re do re do", 4, "do re mi", False),
    ],
)
def test_how_far_a_line_goes(line, measures, offered, goes):
    assert goes_somewhere(_tones(line), measures, _tones(offered)) is goes


def test_a_line_that_learns_a_tone_near_home_goes_further_than_that():
    full = level("p07", "r05")
    composer = Composer(full, full.tones)
    lines = [composer.choose(Random(seed), measures=8) for seed in range(12)]
    narrow = [line for line in lines if not goes_somewhere(line.tones, 8, full.tones)]
    assert len(narrow) <= 2  # without leaving any out it is three in five


@pytest.mark.parametrize("step", ["p06", "p10", "p16"])
def test_a_voice_with_a_line_of_its_own_has_more_than_a_fourth_to_sing(step):
    ranges = [DEFAULT_RANGES[voice] for voice in Voice]
    reading = room_lines(steps_first(), level(step, "r09"), ranges, measures=8, seed=1)
    assert len(reading.plan.lines) == 2  # F would leave the changing voice a fourth, or one tone
    for part, line in zip(reading.exercise.parts, reading.plan.lines, strict=True):
        assert line.footing is not Footing.TWO_TONES
        assert goes_somewhere(part.tones(), 8, line.tones)
        steps = [tone.step for tone in part.tones()]
        assert max(steps) - min(steps) >= 4
