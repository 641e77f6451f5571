"""A high point that is high enough: as far above the last tone as the step asks, or none."""

from dataclasses import replace

import pytest

from bot.music.breach import Rule
from bot.music.catalogue import Catalogue
from bot.music.checker import check
from bot.music.climax import rests, tops_of
from bot.music.composer import Composer, compose
from bot.music.exercise import Tone
from bot.music.pitch import Key
from bot.music.sequence import Climax, Interval
from bot.music.variants import together
from bot.music.voice import VoiceRange
from tests.music.levels import TWO_FOUR, level, tiny
from tests.music.lines import line

_KEY = Key.parse("F")


def _once(full):
    return replace(full, conditions=replace(full.conditions, climax=Climax.ONCE))


def _catalogue(full):
    return Catalogue(Composer(full, full.tones), TWO_FOUR, full.measures[0])


def _named(lines):
    return {each.exercise(_KEY, 4).fingerprint() for each in lines}


def test_a_high_point_is_as_far_above_the_last_tone_as_the_step_asks():
    tones, do = level("p11").tones, Tone(step=0)
    by_lie = tops_of(tones, do, Interval.FIFTH)
    assert {lie: [tones[top].step for top in tops] for lie, tops in by_lie.items()} == {
        0: [4, 5], 1: [6, 7],
    }  # fmt: skip
    assert tops_of(tones[:7], do, Interval.FIFTH) == {}
    kept = level("p11").conditions
    assert kept.peak is Interval.FIFTH
    assert [rests(kept, tones[:some]) for some in (7, 8)] == [True, False]
    assert not rests(replace(kept, peak=None), tones[:3])


@pytest.mark.parametrize("name", ["steps", "held"])
def test_lines_of_tones_that_are_no_high_points_are_as_free_as_others(name):
    full = tiny(name)
    high = replace(_once(full), conditions=replace(_once(full).conditions, peak=Interval.FIFTH))
    assert _catalogue(high).size == _catalogue(full).size > _catalogue(_once(full)).size


def test_high_enough_tones_are_just_those_of_the_lines_that_the_checker_finds_right():
    full = tiny("steps")
    conditions = replace(_once(full).conditions, peak=Interval.THIRD)
    third = replace(full, conditions=conditions)
    every, high = _catalogue(_once(full)), _catalogue(third)
    lines = [every.line(n) for n in range(every.size)]
    right = [each for each in lines if not check(each.exercise(_KEY, 4), third, None)]
    assert 0 < high.size == len(right) < every.size
    assert _named(right) == _named([high.line(n) for n in range(high.size)])
    assert all(max(each.tones).step == 2 for each in right)


def test_the_checker_tells_of_a_high_point_that_is_too_low_where_the_voice_gets_higher():
    full, text = level("p11", "r01"), "do:q re:q mi:q re:q do:h re:h ti,:q la,:q ti,:h re:h do:h"
    wide, narrow = (VoiceRange.parse(each, each) for each in ("C4-E5", "C4-B4"))
    for limits, told in ((None, [Rule.PEAK]), (wide, [Rule.PEAK]), (narrow, [])):
        found = check(line(text), full, limits)
        assert [b.rule for b in found if b.rule in (Rule.PEAK, Rule.CLIMAX)] == told


@pytest.mark.parametrize("limits", ["G3-F4", "C4-C5", "A3-A4"])
def test_every_voice_has_lines_of_the_steps_that_teach_it(limits):
    ranges = (VoiceRange.parse(limits, limits),)
    full = level("p12", "r04")
    exercise = compose(full, together(full, ranges, None), ranges, seed=3)
    assert check(exercise, full, ranges[0]) == ()
