"""What the desk says where parts that sing in turn read below their step."""

import pytest

from bot.activities.choir import Steps
from bot.music.parts import PART_RANGES, part_lines
from bot.music.voice import Voice
from bot.service.companion_words import companion_words
from tests.fakes.choirs import a_reading
from tests.fakes.world import content
from tests.music.levels import level, steps_first

_SAID = (
    "All read a line of step p07 (low ti by step): the tones of step p09 (low la by step) "
    "are out of reach of these voices together."
)


def _reading(pitch, voice, step, **changes):
    ranges = PART_RANGES[voice, 2]
    made = part_lines(steps_first(), level(pitch, step), ranges, seed=3)
    steps = Steps(pitch=pitch, rhythm="r01", voice=step)
    return a_reading(exercise=made.exercise, steps=steps, **changes)


@pytest.mark.parametrize("step", ["v07", "v03"])
def test_the_desk_says_which_step_all_read_where_theirs_is_out_of_reach(step):
    reading = _reading("p09", Voice.CHANGING, step)
    assert companion_words(reading, content()) == _SAID


@pytest.mark.parametrize(
    ("pitch", "voice", "changes"),
    [
        ("p09", Voice.TREBLE, {}),
        ("p07", Voice.CHANGING, {}),
        ("p09", Voice.CHANGING, {"focus": ("p05",)}),
    ],
)
def test_it_says_nothing_where_they_read_their_own_or_go_back_on_purpose(pitch, voice, changes):
    assert companion_words(_reading(pitch, voice, "v07", **changes), content()) == ""
