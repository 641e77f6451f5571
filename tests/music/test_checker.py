"""The checker: a good line has nothing against it, and each rule finds the line that breaks it."""

from dataclasses import replace
from fractions import Fraction

import pytest

from bot.music.breach import Rule
from bot.music.checker import check
from bot.music.exercise import Exercise, Part
from bot.music.voice import DEFAULT_RANGES, Voice
from tests.music.levels import level
from tests.music.lines import line

_P13 = level("p13", "r01")
_FREE = replace(_P13, pitch_focus=None, rhythm_focus=None)


def _rules(exercise, full=_FREE, limits=None):
    return [breach.rule for breach in check(exercise, full, limits)]


def test_a_good_line_has_nothing_against_it():
    good = line("do:q re:q mi:h | fa:q mi:q re:h | mi:q fa:q so:h | mi:q re:q do:h")
    assert check(good, level("p05", "r01"), DEFAULT_RANGES[Voice.TREBLE]) == ()


def test_a_good_line_of_eight_measures_has_nothing_against_it():
    good = line(
        "mi:q mi:q re:q do:q | mi:q so:q so:h | so:q fa:q mi:q fa:q | so:w |"
        "mi:q mi:q re:q do:q | mi:q so:q so:h | so:q fa:q mi:q re:q | do:w"
    )
    assert check(good, level("p05", "r02"), None) == ()


@pytest.mark.parametrize(
    ("text", "rule"),
    [
        ("do:q re:q mi:h | mi:h so:h | fa:h mi:h | mi:q re:q mi:h", Rule.END),
        ("do:q re:q mi:h | mi:h so:h | fa:h mi:h | re:q mi:q do:h", Rule.CADENCE),
        ("fa:q mi:q re:h | do:h mi:h | so:h mi:h | mi:q re:q do:h", Rule.START),
        ("do:q re:q mi:h | mi:h so:h | fa:h mi:h | do:h re:q do:q", Rule.LAST_NOTE),
        ("do:q do:q do:h | do:h mi:h | fa:h mi:h | mi:q re:q do:h", Rule.EQUAL),
        ("do:h fi:h | so:h mi:h | fa:h mi:h | mi:q re:q do:h", Rule.TONE),
        ("do:h fa:h | mi:h mi:h | fa:h mi:h | mi:q re:q do:h", Rule.SKIP),
        ("do:h so:h | la:h so:h | fa:h mi:h | mi:q re:q do:h", Rule.TURN_BACK),
        ("so,:h do:h | re:h mi:h | fa:h mi:h | mi:q re:q do:h", Rule.START),
        ("do:h la,:q do:q | so:h mi:h | fa:h mi:h | mi:q re:q do:h", Rule.TWO_SKIPS),
        ("do:q mi:q so:q ti:q | do':h ti:h | la:h so:h | mi:q re:q do:h", Rule.TWO_SKIPS),
        ("so:h fa:h | so:q la:q ti:h | la:h so:h | mi:q re:q do:h", Rule.TRITONE),
        ("do:h ti,:h | re:h fa:h | re:h mi:h | mi:q re:q do:h", Rule.TRITONE),
        ("do:q re:h mi:q | mi:h so:h | fa:h mi:h | mi:q re:q do:h", Rule.CELL),
        ("do:q re:q mi:h | mi:h so:h | fa:h mi:h | mi:q re:q do:h | do:w", Rule.LENGTH),
        ("do:q re:q mi:q~ mi:q | mi:h so:h | fa:h mi:h | mi:q re:q do:h", Rule.TIE),
        ("do:q re:q mi:h~ | mi:h so:h | fa:h mi:h | mi:q re:q do:h", Rule.HELD),
        ("do:q re:q mi:h | mi:h so:h | fa:h mi:h | mi:q re:q do:h", Rule.EVEN),
        ("do:q re:q mi:h | fa:h. mi:h | fa:q mi:h | mi:q re:q do:q", Rule.BARLINE),
    ],
)
def test_a_rule_finds_the_line_that_breaks_it(text, rule):
    assert rule in _rules(line(text))


def test_a_skip_that_falls_is_judged_like_one_that_rises():
    text = "do:h mi:h | so:h mi:h | do:h mi:h | mi:q re:q do:h"
    assert Rule.SKIP not in _rules(line(text))
    assert Rule.SKIP in _rules(line(text), full=replace(_FREE, skips=frozenset()))


def test_a_do_that_was_reached_from_the_so_below_may_rise_on():
    text = "do:h so,:h | do:q re:q re:h | mi:h so:h | mi:q re:q do:h"
    assert _rules(line(text)) == []


def test_a_diminished_fifth_that_is_left_inwards_is_right():
    text = "do:h ti,:h | re:h fa:h | mi:h re:h | mi:q re:q do:h"
    assert Rule.TRITONE not in _rules(line(text))


def test_a_breach_has_measure_and_beat():
    found = check(line("do:q re:q mi:h | mi:h fi:h | so:h mi:h | mi:q re:q do:h"), _FREE, None)
    assert [(b.measure, b.beat, b.detail) for b in found if b.rule is Rule.TONE] == [
        (2, Fraction(3), "fi")
    ]


def test_a_note_out_of_the_voice_is_found():
    good = line("do:q re:q mi:h | fa:q mi:q re:h | mi:q fa:q so:h | mi:q re:q do:h")
    found = check(good, _FREE, DEFAULT_RANGES[Voice.CHANGING])
    assert {breach.detail for breach in found} == {"G4", "A4", "B♭4", "C5"}
    assert {breach.rule for breach in found} == {Rule.RANGE}


def test_the_newest_tone_has_to_come_often_enough():
    rare = line("do:q re:q mi:h | mi:q mi:q so:h | fa:h mi:h | mi:q re:q do:h")
    assert _rules(rare, level("p05", "r01")) == [Rule.PITCH_FOCUS]


def test_the_newest_rhythm_has_to_come_often_enough():
    rare = line("do:q re:q mi:h | re:q r:q mi:h | re:q re:q mi:h | mi:q re:q do:h")
    full = replace(level("p01", "r03"), pitch_focus=None)
    assert full.rhythm_focus
    assert _rules(rare, full) == []
    twice = replace(full, rhythm_focus=replace(full.rhythm_focus, count=4))
    assert _rules(rare, twice) == [Rule.RHYTHM_FOCUS]


def test_the_newest_tone_does_not_come_with_the_newest_rhythm():
    apart = "do:q re:q mi:e re:e mi:q | fa:q mi:q mi:e re:e do:q | re:q mi:q fa:h | mi:q re:q do:h"
    at_once = apart.replace("mi:e re:e do:q", "fa:e mi:e re:q")
    assert _rules(line(apart), level("p05", "r04")) == []
    assert _rules(line(at_once), level("p05", "r04")) == [Rule.BOTH_NEW]


@pytest.mark.parametrize(
    ("measure", "rule"),
    [
        ("r:w", Rule.REST),
        ("mi:q r:q r:q mi:q", Rule.CELL),
        ("do:e re:e mi:e fa:e so:e fa:e mi:q", Rule.CELL),
    ],
)
def test_rests_and_rows_within_a_measure_have_their_rules(measure, rule):
    full = replace(level("p05", "r08"), pitch_focus=None, rhythm_focus=None)
    text = f"do:q re:q mi:h | {measure} | fa:h mi:h | mi:q re:q do:h"
    assert rule in _rules(line(text), full)


def test_too_many_kinds_of_rhythm_in_a_line_are_found():
    full = replace(level("p05", "r16"), pitch_focus=None, rhythm_focus=None)
    text = "do:q. re:e mi:q r:q | mi:e. fa:s mi:q so:h | fa:e mi:q re:e mi:h | mi:q re:q do:h"
    assert _rules(line(text), full) == [Rule.COLOURS]


def test_a_run_of_one_rhythm_is_found():
    text = "do:q re:q mi:q fa:q | so:q fa:q mi:q re:q | mi:q fa:q mi:h | mi:q re:q do:h"
    assert Rule.SAME_CELL in _rules(line(text))


def test_a_half_that_ends_on_do_is_no_half_cadence():
    half = "do:q re:q mi:h | fa:h mi:h | re:h mi:h | mi:q re:q {}:h | "
    whole = half + half.replace("{}", "do")
    assert Rule.HALF_CADENCE in _rules(line(whole.format("do")))
    assert Rule.HALF_CADENCE not in _rules(
        line(whole.format("do").replace("re:q do:h | do", "re:q re:h | do"))
    )


def test_music_that_is_no_line_of_ours_is_told_so():
    tune = line("do:q re:q mi:h | fa:h re:h | mi:h re:h | mi:q re:q do:h", pickup="so,:q")
    parts = Exercise(key=tune.key, metre=tune.metre, parts=(tune.parts[0], tune.parts[0]))
    silent = replace(tune, parts=(Part(notes=line("r:w | r:w | r:w | r:w").parts[0].notes),))
    assert Rule.PICKUP in _rules(tune)
    assert Rule.PARTS in _rules(parts)
    assert Rule.END in _rules(silent)
    assert Rule.MODE in _rules(line("la,:w | la,:w | la,:w | la,:w", key="d minor"))
    assert Rule.METRE in _rules(line("do:h. | re:h. | re:h. | do:h.", metre="3/4"))


_TIED = replace(level("p01", "r21"), rhythm_focus=None)


@pytest.mark.parametrize(
    "text",
    [
        "do:q re:q mi:q re:q~ | re:q mi:q re:h | do:h re:q mi:q~ | mi:q re:q do:h",
        "do:q re:q mi:h~ | mi:h re:q do:q | re:q mi:q re:h | mi:q re:q do:h",
        "do:q re:q mi:h | re:h do:q re:q~ | re:h mi:q re:q | mi:q re:q do:h",
    ],
)
def test_a_quarter_or_half_may_be_tied_over_the_bar_line_once_that_is_taught(text):
    assert _rules(line(text), _TIED) == []
    before = replace(level("p01", "r12"), rhythm_focus=None)
    assert set(_rules(line(text), before)) == {Rule.HELD}


@pytest.mark.parametrize(
    "text",
    [
        "do:q re:q mi:q re:q~ | re:q mi:q re:q do:q~ | do:q re:q mi:h | mi:q re:q do:h",
        "do:q re:q mi:h~ | mi:w | re:h. mi:q | mi:q re:q do:h",
        "do:q re:q mi:q re:e re:e~ | re:q mi:q re:h | re:h. mi:q | mi:q re:q do:h",
        "do:q re:q mi:q re:q~ | re:e mi:e do:q re:h | re:h. mi:q | mi:q re:q do:h",
        "do:q re:q mi:q re:q~ | re:h r:h | re:h. mi:q | mi:q re:q do:h",
        "do:q re:q mi:h | mi:h re:q do:q | re:h. mi:q | mi:q re:q do:h~",
    ],
)
def test_ties_over_the_bar_line_have_their_rules(text):
    assert Rule.HELD in _rules(line(text), _TIED)


def test_the_end_of_a_phrase_is_not_tied_over():
    half = "do:q re:q mi:h | mi:h re:q do:q | re:h. mi:q | mi:q re:q re:h"
    assert Rule.HELD in _rules(line(f"{half}~ | {half.replace('do:q', 're:q', 1)}"), _TIED)


def test_a_tie_over_the_bar_line_counts_as_the_newest_rhythm_and_as_a_kind_of_its_own():
    text = "do:q re:q mi:q re:q~ | re:q mi:q re:h | re:h. mi:q | mi:q re:q do:h"
    newest = level("p01", "r21")
    assert _rules(line(text), newest) == []
    assert _rules(line(text.replace("re:q~ | re:q mi:q", "re:q | re:q mi:q")), newest) == [
        Rule.RHYTHM_FOCUS
    ]
    none = replace(_TIED, rules=replace(_TIED.rules, colours=0))
    assert _rules(line(text), none) == [Rule.COLOURS]


def test_the_newest_tone_is_not_held_over_the_bar_line_where_that_is_new_too():
    text = "do:q re:q fa:q mi:q~ | mi:q fa:q mi:h | re:h. mi:q | mi:q re:q do:h"
    full = level("p05", "r21")
    assert Rule.BOTH_NEW not in _rules(line(text), full)
    at_once = text.replace("fa:q mi:q~ | mi:q", "mi:q fa:q~ | fa:q")
    assert Rule.BOTH_NEW in _rules(line(at_once), full)


def test_two_beats_of_a_kind_may_fill_any_measure_unless_they_are_halves():
    two = "do:q re:q | mi:q fa:q | so:q fa:q | do:h"
    full = replace(level("p05", "r06"), rhythm_focus=None)
    assert Rule.EVEN not in _rules(line(two, metre="2/4"), full)
    cut = "do:h re:h | mi:h fa:h | so:h fa:h | do:w"
    halves = replace(full, cells=level("p05", "r20").cells)
    assert Rule.EVEN in _rules(line(cut, metre="cut"), halves)
