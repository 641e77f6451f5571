"""Parts and what is newest: they have it between them, or the rule says what forbids it."""

from dataclasses import replace
from random import Random

import pytest

from bot.errors import NoExercise
from bot.music.breach import Rule
from bot.music.check_parts import PartRules, check_parts
from bot.music.checker import check
from bot.music.ensemble import Room
from bot.music.part_plans import part_plans
from bot.music.parts import LAYS, PART_RANGES, part_lines
from bot.music.pitch import Key
from bot.music.rhythms import Taken
from bot.music.texture import parts_needed, texture_of
from bot.music.textures import figure_begins
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


def _ostinato(ids, voice):
    """The best plan of an ostinato with its room, and the tones on which its figures begin."""
    full = level(*ids.split(), "v02")
    (plan, *_) = part_plans(steps_first(), full, PART_RANGES[voice, 2], None)
    lay, manner = LAYS[texture_of(full)]
    return Room(plan, manner, lay), {1: figure_begins(plan.lines[1])}


# A pitch step, and whether its newest tone or skip goes with do or so below it and leads on.
_OVER_DO_AND_SO = {
    ("p04", Voice.TREBLE): True,
    ("p06", Voice.TREBLE): True,
    ("p08", Voice.TREBLE): False,  # low so lies under the ostinato
    ("p12", Voice.TREBLE): False,  # fa is a fourth over do and a seventh over so
    ("p13", Voice.CHANGING): False,  # so is re to fa
    ("p19", Voice.CHANGING): False,  # te over so goes on to la, out of which there is no way
    ("p19", Voice.TREBLE): True,
}


@pytest.mark.parametrize(("pitch", "voice"), _OVER_DO_AND_SO)
def test_it_is_known_before_any_rhythm_whether_an_ostinato_has_room_for_the_newest(pitch, voice):
    room, begins = _ostinato(f"{pitch} r01", voice)
    assert room.newest_has_place(begins) is _OVER_DO_AND_SO[pitch, voice]


@pytest.mark.parametrize(("pitch", "voice"), [k for k, has in _OVER_DO_AND_SO.items() if not has])
def test_where_it_is_said_to_have_none_no_rhythm_has_a_setting_with_it(pitch, voice):
    room, _ = _ostinato(f"{pitch} r01", voice)
    chance = Random(5)
    frames = [each for each in room.frames(None, 4) if each.rhythms.total]
    for _ in range(4):
        frame = chance.choice(frames)
        assert room.setting(frame, frame.rhythms.draw(chance, Taken())).lines.total == 0.0


def test_rests_may_make_room_where_there_is_none_without_them():
    room, begins = _ostinato("p13 r04", Voice.CHANGING)
    assert room.newest_has_place(begins)


@pytest.mark.parametrize("ids", ["p12 r01", "p13 r04"])
def test_an_ostinato_tries_few_rhythms_for_the_newest(ids):
    tried = []

    class Counted(Room):
        def setting(self, frame, path):
            tried.append(path)
            return super().setting(frame, path)

    full = level(*ids.split(), "v02")
    part_lines(steps_first(), full, PART_RANGES[Voice.CHANGING, 2], seed=0, rooms=Counted)
    assert len(tried) == (1 if "r01" in ids else 5)


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
        "refusal.new_in_parts",
        {"step": "r08", "name": "whole rest", "steps": "p08, r08, v03"},
    )
