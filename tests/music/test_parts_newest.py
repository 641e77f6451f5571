"""Parts and what is newest: they have it between them, or the rule says what forbids it."""

from dataclasses import replace

import pytest

from bot.errors import NoExercise
from bot.music.breach import Rule
from bot.music.check_parts import PartRules, check_parts
from bot.music.checker import check
from bot.music.parts import PART_RANGES, part_lines, parts_needed, texture_of
from bot.music.pitch import Key
from bot.music.voice import Voice
from tests.music.levels import level, steps_first
from tests.music.together import parallels, score


def _parts(ids, seed=0, key=None):
    full = level(*ids.split())
    ranges = PART_RANGES[Voice.TREBLE, parts_needed(texture_of(full))]
    return part_lines(steps_first(), full, ranges, key, seed=seed), ranges


@pytest.mark.parametrize("seed", range(2))
@pytest.mark.parametrize("ids", ["p05 v04", "p07 r04 v04", "p11 r04 v05"])
def test_parts_have_the_newest_tone_as_often_between_them_as_one_line_would(ids, seed):
    full = level(*ids.split())
    reading, _ = _parts(ids, seed)
    focus = full.pitch_focus
    often = replace(full, pitch_focus=replace(focus, count=10_000))  # so that it says how often
    hits = [
        int(breach.detail.split()[0])
        for voice in range(2)
        for breach in check(reading.alone(voice), often, None)
        if breach.rule is Rule.PITCH_FOCUS
    ]
    assert len(hits) == 2
    assert sum(hits) >= focus.needed(reading.exercise.measures)


@pytest.mark.long
@pytest.mark.parametrize("pitch", ["p08", "p09", "p11", "p12", "p13"])
@pytest.mark.parametrize("voice_step", ["v02", "v08"])
def test_over_do_and_so_there_are_parts_whatever_the_newest_tone(pitch, voice_step):
    ids = f"{pitch} r04 {voice_step}"
    reading, ranges = _parts(ids)
    whole = score(reading, 2)
    found = [*check_parts(whole, PartRules(drone=voice_step == "v08")), *parallels(whole)]
    for voice, limits in enumerate(ranges):
        line = reading.plan.lines[reading.line_of(voice)]
        found += check(reading.alone(voice), replace(line.level, pitch_focus=None), limits)
    assert found == []


def test_a_canon_that_the_newest_rhythm_forbids_says_so():
    with pytest.raises(NoExercise) as refused:
        _parts("p08 r08 v03", Voice.TREBLE, key=Key.parse("F"))
    assert (refused.value.key, refused.value.values) == (
        "refusal.parts_rhythm",
        {"step": "r08, v03"},
    )
