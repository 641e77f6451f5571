"""One key for the room: one line for all, companion lines for some, or the rule that forbids it."""

from dataclasses import replace
from itertools import combinations

import pytest

from bot.errors import NoExercise
from bot.music.check_parts import PartRules, check_parts
from bot.music.checker import check
from bot.music.companion import Footing, footing_of
from bot.music.composer import compose
from bot.music.exercise import Exercise
from bot.music.pitch import Key
from bot.music.room_lines import room_lines
from bot.music.sequence import Track
from bot.music.step_table import KEYS
from bot.music.variants import together
from bot.music.voice import DEFAULT_RANGES, Voice, VoiceRange
from tests.music.levels import level, steps_first
from tests.music.together import parallels, score, sung

_ALL = tuple(DEFAULT_RANGES[voice] for voice in Voice)
_TREBLE, _CHANGING, _BARITONE = _ALL
_MIXES = [mix for size in (2, 3) for mix in combinations(Voice, size)]
_PITCH = [step.id for step in steps_first().track(Track.PITCH)]


def _room(ids, ranges, key=None, seed=1, **wishes):
    key = None if key is None else Key.parse(key)
    return room_lines(steps_first(), level(*ids.split()), ranges, key, seed=seed, **wishes)


def _faults(reading, ranges):
    """What any voice could not sing, what breaks its line's level, what sounds ill together."""
    found = []
    for voice, limits in enumerate(ranges):
        line = reading.plan.lines[reading.line_of(voice)]
        found += check(reading.alone(voice), line.level, limits)
    whole = score(reading, len(ranges))
    rules = PartRules(crossing=True, drone=any(line.drone for line in reading.plan.lines))
    return [*found, *check_parts(whole, rules), *parallels(whole)]


def test_where_one_line_serves_all_it_is_the_one_that_would_be_composed_alone():
    full = level("p04")
    placement = together(full, _ALL, None)
    assert _room("p04", _ALL).exercise == compose(full, placement, _ALL, seed=1)


def test_in_f_a_changing_voice_gets_re_to_so_while_the_trebles_sing_the_line():
    reading = _room("p06", (_TREBLE, _CHANGING), "F")
    main, companion = reading.plan.lines
    assert (main.footing, main.voices) == (Footing.MAIN, (0,))
    assert companion.voices == (1,)
    pitches = reading.alone(1).pitches()
    assert min(pitches) >= _CHANGING.low
    assert max(pitches) <= _CHANGING.high
    assert reading.exercise.key == Key.parse("F")
    assert _faults(reading, (_TREBLE, _CHANGING)) == []


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize("ids", ["p06 r02", "p10 r04", "p08 r05", "p12 r09"])
def test_companions_suit_their_voices_and_one_another(ids, seed):
    reading = _room(ids, _ALL, seed=seed)
    assert len(reading.plan.lines) > 1 or ids == "p12 r09"
    assert _faults(reading, _ALL) == []


@pytest.mark.parametrize("mix", _MIXES, ids="-".join)
@pytest.mark.parametrize("step", _PITCH)
def test_every_step_has_lines_for_every_mix_of_voices_in_some_key(step, mix):
    ranges = tuple(DEFAULT_RANGES[voice] for voice in mix)
    assert _faults(_room(step, ranges), ranges) == []


@pytest.mark.parametrize("key", KEYS, ids=lambda key: key.plain)
@pytest.mark.parametrize("step", ["p01", "p06", "p17"])
def test_in_every_key_there_are_lines_or_the_rule_that_forbids_them(step, key):
    for mix in _MIXES:
        _lines_or_rule(step, mix, key)


@pytest.mark.long
@pytest.mark.parametrize("key", KEYS, ids=lambda key: key.plain)
@pytest.mark.parametrize("step", [step.id for step in steps_first().steps if step.id[0] in "pr"])
def test_no_cell_of_the_whole_table_is_empty_without_its_rule(step, key):
    for mix in _MIXES:
        _lines_or_rule(step, mix, key)


def _lines_or_rule(step, mix, key):
    ranges = tuple(DEFAULT_RANGES[voice] for voice in mix)
    try:
        key = replace(key, mode=level(step).mode)
        reading = _room(step, ranges, key.plain)
    except NoExercise as refusal:
        assert refusal.key in ("refusal.range", "refusal.leads_on")
    else:
        assert reading.exercise.key == key
        assert _faults(reading, ranges) == []


@pytest.mark.parametrize("limits", ["G3-D4", "A3-D4", "C4-F4", "E3-B3", "F3-D4"])
def test_a_narrow_voice_finds_a_line_beside_trebles(limits):
    narrow = VoiceRange.parse(limits, limits)
    for step in ("p04", "p06", "p09"):
        reading = _room(step, (_TREBLE, narrow))
        assert _faults(reading, (_TREBLE, narrow)) == []


def test_a_voice_of_two_notes_stays_on_do_or_so():
    narrow = VoiceRange.parse("C4-D4", "C4-D4")
    reading = _room("p06", (_TREBLE, narrow), "F")
    line = reading.plan.lines[1]
    assert line.footing is Footing.TWO_TONES
    assert set(sung(reading.exercise)[1].split()) == {"so"}
    assert _faults(reading, (_TREBLE, narrow)) == []


def test_a_voice_that_has_neither_do_nor_so_in_the_key_is_refused_by_name():
    narrow = VoiceRange.parse("Bb3-B3", "Bb3-B3")
    with pytest.raises(NoExercise) as refusal:
        _room("p06", (_TREBLE, narrow), "D")
    assert refusal.value.values["in_key"] == "D major"


def test_a_line_below_the_step_is_known_by_its_music():
    reading = _room("p06 r02", _ALL)
    companion = reading.plan.lines[1]
    assert companion.footing is Footing.LOWER_STEP
    alone = Exercise(
        key=reading.exercise.key, metre=reading.exercise.metre, parts=reading.exercise.parts[1:]
    )
    footing, step = footing_of(alone, steps_first(), level("p06", "r02"))
    assert (footing, step) == (Footing.LOWER_STEP, companion.step)


def test_the_same_seed_gives_the_same_lines_and_nothing_comes_twice():
    first = [_room("p06", _ALL, seed=seed).exercise for seed in range(6)]
    again = _room("p06", _ALL, seed=0).exercise
    other = _room("p06", _ALL, seed=0, seen=first).exercise
    assert again == first[0]
    assert other.fingerprint() not in {each.fingerprint() for each in first}


def test_a_length_that_the_step_does_not_have_is_refused():
    with pytest.raises(NoExercise, match=r"refusal\.measures"):
        _room("p06", _ALL, measures=6)


def test_a_minor_key_is_refused():
    with pytest.raises(NoExercise, match=r"refusal\.major"):
        _room("p06", _ALL, "d minor")
