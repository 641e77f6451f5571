"""Turns of an exercise: backwards and back again, bare rhythm, halves echoed, one tone aloud."""

from fractions import Fraction

import pytest
from hypothesis import given

from bot.music.syllable import tone_of
from bot.music.turns import echo_halves, only_tone, retrograde, rhythm_only
from tests.music.drawn import exercises
from tests.music.lines import line


@given(exercises())
def test_backwards_twice_is_the_exercise_again(exercise):
    assert retrograde(retrograde(exercise)) == exercise


@given(exercises())
def test_backwards_sings_the_same_tones_in_the_other_order(exercise):
    turned = retrograde(exercise)
    for part, other in zip(exercise.parts, turned.parts, strict=True):
        assert other.tones() == part.tones()[::-1]


def test_backwards_a_tie_binds_the_same_two_notes():
    turned = retrograde(line("do:h re:h~ | re:q mi:h."))
    assert turned == line("mi:h. re:q~ | re:h do:h")


def test_backwards_a_pickup_becomes_the_short_last_measure():
    turned = retrograde(line("do:q re:q mi:h | do:h re:q", pickup="so:q"))
    assert turned == line("mi:h re:q do:q | so:q", pickup="re:q do:h")
    assert turned.place(Fraction(3, 4)) == (1, 1)


def test_bare_rhythm_keeps_lengths_rests_and_ties():
    turned = rhythm_only(line("so:q r:q mi:h~ | mi:q re:q do:h"))
    assert turned == line("do:q r:q do:h~ | do:q do:q do:h")


def test_one_tone_aloud_leaves_the_others_as_rests():
    turned = only_tone(line("do:q so,:q so:h~ | so:q fi:q r:h"), tone_of("so"))
    assert turned == line("r:q so,:q so:h~ | so:q r:q r:h")


def test_an_altered_tone_is_another_tone():
    turned = only_tone(line("fi:q fa:q so:h"), tone_of("fi"))
    assert turned == line("fi:q r:q r:h")


def test_halves_come_twice_each():
    turned = echo_halves(line("do:w | re:h do:h"))
    assert turned == line("do:w | do:w | re:h do:h | re:h do:h")


def test_halves_of_a_line_with_a_pickup_each_begin_with_one():
    turned = echo_halves(line("do:h. mi:q | re:h do:q", pickup="so:q"))
    sung = "do:h. so:q | do:h. mi:q | re:h do:q mi:q | re:h do:q"
    assert turned == line(sung, pickup="so:q")


@pytest.mark.parametrize(
    ("notes", "told"),
    [
        ("do:w | re:w | do:w", "3 measures do not fall into two halves"),
        ("do:w~ | do:w", "held over the middle"),
    ],
)
def test_a_line_without_two_halves_has_no_echo(notes, told):
    with pytest.raises(ValueError, match=told):
        echo_halves(line(notes))
