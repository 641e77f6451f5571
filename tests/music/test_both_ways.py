"""Lines that read as well backwards: right in both directions, and just as many as there are."""

from dataclasses import replace
from random import Random

import pytest

from bot.errors import NoExercise
from bot.music.both_ways import both_ways, nearest_both_ways
from bot.music.catalogue import Catalogue
from bot.music.checker import check
from bot.music.composer import Composer, compose
from bot.music.pitch import Key
from bot.music.rhythm import Metre
from bot.music.sequence import Track
from bot.music.turns import retrograde
from bot.music.variants import together
from bot.music.voice import DEFAULT_RANGES, Voice
from tests.music.levels import TWO_FOUR, level, steps_first, tiny

_KEY = Key.parse("F")


def _named(catalogue):
    return {
        catalogue.line(n).exercise(_KEY, 4).fingerprint(): catalogue.line(n).exercise(_KEY, 4)
        for n in range(catalogue.size)
    }


@pytest.mark.parametrize("name", ["steps", "two phrases", "both new", "leaps", "held"])
def test_they_are_just_the_lines_of_the_step_that_the_checker_finds_right_both_ways(name):
    full = _small(name)
    measures = full.measures[0]
    every = _named(Catalogue(Composer(full, full.tones), TWO_FOUR, measures))
    right = {name for name, line in every.items() if not check(retrograde(line), full, None)}
    there = both_ways(full)

    found = Catalogue(Composer(there, there.tones), TWO_FOUR, measures)

    assert set(_named(found)) == right
    assert found.size == len(right) > 0
    assert [found.number(found.line(n)) for n in range(found.size)] == list(range(found.size))


def _small(name):
    """A level whose lines can all be written out, with enough of them to go both ways."""
    full = tiny("both new" if name == "leaps" else name)
    focus = full.pitch_focus
    match name:
        case "two phrases":
            return replace(full, pitch_focus=replace(focus, count=3))
        case "both new":
            rules = replace(full.rules, equal_notes=2)
            count = replace(full.rhythm_focus, count=2)
            return replace(full, rules=rules, pitch_focus=replace(focus, count=1),
                           rhythm_focus=count)  # fmt: skip
        case "leaps":
            wide = level("p14")
            return replace(full, tones=wide.tones[:5], skips=wide.skips, pitch_focus=None,
                           rhythm_focus=None, cells=full.cells[:2])  # fmt: skip
    return full


@pytest.mark.parametrize("rhythm", ["r02", "r06", "r15"])
@pytest.mark.parametrize("pitch", [step.id for step in steps_first().track(Track.PITCH)])
def test_every_pitch_step_has_lines_that_go_both_ways(pitch, rhythm):
    full = level(pitch, rhythm)
    composer = Composer(both_ways(full), full.tones)
    for seed in range(4):
        line = composer.draw(Random(seed)).exercise(replace(_KEY, mode=full.mode), 4)
        assert check(line, full, None) == ()
        assert check(retrograde(line), full, None) == ()


def test_a_dotted_rhythm_that_comes_out_strange_backwards_is_refused_in_the_words_of_its_step():
    with pytest.raises(NoExercise) as refusal:
        both_ways(level("p05", "r09"))
    assert (refusal.value.key, refusal.value.values) == (
        "refusal.mirror", {"step": "r09", "name": "dotted quarter and eighth"},
    )  # fmt: skip
    assert nearest_both_ways(steps_first(), ("p05", "r09", "v01")) == ("p05", "r06", "v01")


def test_a_metre_in_which_the_newest_rhythm_has_no_place_backwards_is_refused_so():
    full, ranges = both_ways(level("p05", "r10")), (DEFAULT_RANGES[Voice.TREBLE],)
    placement = together(full, ranges, None)
    with pytest.raises(NoExercise) as refusal:
        compose(full, placement, ranges, metre=TWO_FOUR, seed=1)
    assert (refusal.value.key, refusal.value.values["known"]) == ("refusal.mirror_metre", "3/4")
    assert compose(level("p05", "r10"), placement, ranges, metre=TWO_FOUR, seed=1).metre == TWO_FOUR


def test_a_new_metre_leaves_the_other_metres_their_lines_both_ways():
    full, ranges = both_ways(level("p05", "r06")), (DEFAULT_RANGES[Voice.TREBLE],)
    three = Metre.parse("3/4")
    line = compose(full, together(full, ranges, None), ranges, metre=three, seed=1)
    assert check(retrograde(line), level("p05", "r06"), None) == ()
    assert line.metre == three


def test_a_line_that_may_not_begin_where_it_ends_is_refused():
    full = level("p04", "r04")
    conditions = replace(full.conditions, start=full.tones[1:2])
    with pytest.raises(NoExercise, match=r"refusal\.mirror_ends"):
        both_ways(replace(full, conditions=conditions))
