"""Echo and canon where voices share few tones: the highest step in reach, the same rules."""

import pytest

from bot.errors import NoExercise
from bot.music.check_parts import check_canon
from bot.music.checker import check
from bot.music.companion import Footing, companion_level, footing_of, levels_down
from bot.music.in_turn import sung_once
from bot.music.parts import PART_RANGES, part_lines
from bot.music.sequence import Track
from bot.music.texture import texture_of
from bot.music.variants import together
from bot.music.voice import Voice
from tests.music.levels import level, steps_first

_LOW = PART_RANGES[Voice.CHANGING, 2]
_TREBLE = PART_RANGES[Voice.TREBLE, 2]
_IN_MAJOR = [step.id for step in steps_first().track(Track.PITCH) if step.id not in ("p16", "p17")]


def _in_reach(full, ranges):
    """The first level downwards that some key gives to all voices."""
    for lower in levels_down(steps_first(), full):
        try:
            together(lower, ranges, None)
        except NoExercise:
            continue
        return lower
    return None


@pytest.mark.parametrize("pitch", _IN_MAJOR)
def test_changing_voices_and_baritones_echo_at_every_step_in_major(pitch):
    full = level(pitch, "v07")
    reading = part_lines(steps_first(), full, _LOW, seed=1)
    there = _in_reach(full, _LOW)
    main = reading.plan.lines[0]
    assert main.step == there.steps[0]
    assert (main.footing is Footing.LOWER_STEP) is (there.steps[0] != pitch)
    line = sung_once(reading.exercise, texture_of(full))
    assert check(line, there, _LOW[0]) == ()
    for voice, limits in enumerate(_LOW):
        assert all(limits.holds(pitch) for pitch in reading.alone(voice).pitches())


@pytest.mark.parametrize("ids", ["p09 v03", "p15 r04 v03"])
def test_a_canon_goes_down_to_the_step_in_reach_too(ids):
    full = level(*ids.split())
    reading = part_lines(steps_first(), full, _LOW, seed=2)
    lower, main = _in_reach(full, _LOW), reading.plan.lines[0]
    assert (main.step, main.footing) == (lower.steps[0], Footing.LOWER_STEP)
    assert check_canon(reading.exercise, 2) == ()
    line = sung_once(reading.exercise, texture_of(full))
    assert footing_of(line, steps_first(), full)[0] is not Footing.TWO_TONES
    end = line.parts[0].tones()[-1]
    assert check(line, companion_level(lower, lower.tones, end, full), None) == ()


@pytest.mark.parametrize("ids", ["p09 v07", "p15 v07", "p09 v03"])
def test_voices_that_reach_the_step_read_it(ids):
    reading = part_lines(steps_first(), level(*ids.split()), _TREBLE, seed=1)
    main = reading.plan.lines[0]
    assert (main.step, main.footing) == (ids.split()[0], Footing.MAIN)


def test_where_nothing_is_in_reach_the_tone_of_the_step_is_named():
    with pytest.raises(NoExercise) as refused:
        part_lines(steps_first(), level("p16", "v07"), _LOW, seed=1)
    assert (refused.value.key, refused.value.values["tone"]) == ("refusal.each_others", "low la")


def test_a_wish_that_is_refused_is_not_granted_at_a_lower_step():
    with pytest.raises(NoExercise, match=r"refusal\.measures"):
        part_lines(steps_first(), level("p09", "v07"), _LOW, measures=12, seed=1)
