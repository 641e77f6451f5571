"""Canons that begin before the bar, or hold notes over it: both parts right, and one line."""

from dataclasses import replace
from random import Random

import pytest

from bot.errors import NoExercise
from bot.music.canon import ENTRY, Canons
from bot.music.check_parts import PartRules, check_canon, check_parts
from bot.music.checker import check
from bot.music.exercise import Exercise
from bot.music.level import level_of
from bot.music.parts import PART_RANGES, part_lines
from bot.music.rhythms import Taken
from bot.music.voice import Voice
from tests.music.levels import TWO_FOUR, level, shipped, steps_first
from tests.music.together import parallels, score

_RANGES = PART_RANGES[Voice.TREBLE, 2]
_CROSSING = PartRules(crossing=True)


def _drawn(ids, seed):
    return part_lines(steps_first(), level(*ids.split()), _RANGES, seed=seed)


def _line(exercise):
    """What the first part sings before it begins again."""
    half = exercise.length / 2
    notes = tuple(note for at, note in exercise.parts[0].timed() if at < half)
    part = replace(exercise.parts[0], notes=notes)
    return Exercise(key=exercise.key, metre=exercise.metre, parts=(part,), pickup=exercise.pickup)


@pytest.mark.parametrize("draws", [3, pytest.param(300, marks=pytest.mark.long)])
@pytest.mark.parametrize("ids", ["p05 r11 v03", "p06 r21 v03"])
def test_canons_with_pickups_and_ties_keep_every_rule(ids, draws):
    pickups = ties = 0
    for seed in range(draws):
        reading = _drawn(ids, seed)
        exercise, whole = reading.exercise, score(reading, 2)
        line = _line(exercise)
        assert [*check_parts(whole, _CROSSING), *parallels(whole)] == []
        assert check_canon(exercise, ENTRY) == ()
        assert check(line, reading.plan.lines[0].level, None) == ()
        pickups += bool(exercise.pickup)
        ties += any(note.tied for note in line.parts[0].notes)
        _entry_is_struck(exercise)
        assert exercise.parts[1].notes[-1].duration >= exercise.metre.pulse or (
            exercise.parts[1].notes[-1].tone is None
        )
    assert (pickups == draws) if "r11" in ids else (ties == draws)


def test_a_dissonance_is_left_by_step_also_where_the_other_part_falls_silent():
    whole = score(_drawn("p05 r11 v03", 203), 2)  # its do under re went on to so
    assert check_parts(whole, _CROSSING) == ()


def test_no_rhythm_of_a_canon_holds_a_note_from_half_to_half():
    """Also not where the form lets the second measure share its rhythm with no other."""
    full = level("p06", "r21", "v03")
    plan = part_lines(steps_first(), full, _RANGES, seed=0).plan
    chance, held = Random(3), 0
    for frame in Canons(plan).frames(None):
        for _ in range(3 if frame.rhythms.total else 0):
            measures = frame.line(frame.rhythms.draw(chance, Taken()))
            held += any(measure.over for measure in measures)
            assert not measures[ENTRY - 1].over
    assert held > 20


def _entry_is_struck(exercise):
    """The second part enters as the first did, and no note of the line is held into it."""
    entry = ENTRY * exercise.metre.measure
    timed = dict(exercise.parts[0].timed())
    assert entry in timed
    assert not [note for at, note in timed.items() if at + note.duration == entry and note.tied]
    assert exercise.length == 4 * entry


@pytest.mark.parametrize("seed", [900, 902])
def test_a_canon_is_found_where_few_rhythms_have_one(seed):
    order, low = shipped("two-tones-first"), PART_RANGES[Voice.CHANGING, 2]
    found = part_lines(order, level_of(order, ["p09", "r05", "v03"]), low, seed=seed)
    assert check_canon(found.exercise, ENTRY) == ()


def test_a_metre_without_pickups_has_no_canon_where_the_pickup_is_new():
    full = level("p05", "r11", "v03")
    with pytest.raises(NoExercise) as refused:
        part_lines(steps_first(), full, _RANGES, metre=TWO_FOUR, seed=0)
    assert (refused.value.key, refused.value.values["known"]) == (
        "refusal.new_in_metre", "4/4, 3/4",
    )  # fmt: skip
