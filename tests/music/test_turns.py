"""Turns of an exercise: backwards and back again, bare rhythm, halves echoed, one tone aloud."""

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.music.syllable import tone_of
from bot.music.turns import (
    echo_halves,
    hidden_measures,
    measures_to_hide,
    only_tone,
    retrograde,
    rhythm_only,
)
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


@given(st.integers(3, 16), st.integers(0, 999))
def test_hidden_measures_leave_both_ends_and_have_a_seen_one_between(measures, seed):
    hidden = measures_to_hide(measures, seed)
    assert hidden
    assert set(hidden) <= set(range(2, measures))
    assert all(other - one > 1 for one, other in pairwise(hidden))


def test_over_seeds_every_inner_measure_is_hidden_now_and_then():
    found = {measure for seed in range(60) for measure in measures_to_hide(8, seed)}
    assert found == set(range(2, 8))


def test_a_hidden_measure_stands_as_one_rest():
    turned = hidden_measures(line("do:q re:h. | mi:h fa:h~ | fa:w | mi:h re:h"), {2, 4})
    assert turned == line("do:q re:h. | r:w | fa:w | r:w")


def test_a_pickup_is_never_hidden():
    exercise = line("do:w | re:h. ", pickup="so,:q")
    assert hidden_measures(exercise, {1}) == line("r:w | re:h. ", pickup="so,:q")


def test_a_measure_is_not_hidden_through_the_middle_of_a_note():
    with pytest.raises(ValueError, match="measure 1"):
        hidden_measures(line("do:h. re:h | mi:h. fa:w"), {2})


def _words(made):
    return made.parts[0].words


def _sung(made, text):
    words = tuple(text.split())
    return replace(made, parts=(replace(made.parts[0], words=words),))


_SUNG = _sung(
    line("do:q re:q mi:h~ | mi:q fa:q do:h | so:q fa:q mi:h | re:q r:q do:h"),
    "Lan- terns glow a- long the riv- er, far off",
)


def test_words_stay_under_the_tone_that_is_sung_and_no_hyphen_leads_into_silence():
    assert _words(only_tone(_SUNG, tone_of("do"))) == ("Lan", "long", "off")
    assert _words(only_tone(_SUNG, tone_of("re"))) == ("terns", "far")


def test_words_stay_under_the_measures_that_are_left_to_see():
    assert _words(hidden_measures(_SUNG, [3])) == (
        *("Lan-", "terns", "glow", "a-", "long"),
        *("far", "off"),
    )
    # A note that is held from a covered measure shows the syllable that sounds.
    assert _words(hidden_measures(_SUNG, [1])) == _SUNG.parts[0].words[2:]


def test_words_are_echoed_with_their_half():
    first, second = (
        ("Lan-", "terns", "glow", "a-", "long"),
        ("the", "riv-", "er,", "far", "a-", "way"),
    )
    made = _sung(
        line("do:q re:q mi:h | fa:h do:h | so:q fa:q mi:q r:q | re:q re:q do:h"),
        " ".join((*first, *second)),
    )
    assert _words(echo_halves(made)) == (*first, *first, *second, *second)


@given(exercises())
def test_turns_give_every_note_its_own_syllable(exercise):
    named = replace(
        exercise,
        parts=tuple(
            replace(part, words=tuple(f"n{at}" for at, _ in enumerate(part.tones())))
            for part in exercise.parts
        ),
    )
    for part, other in zip(named.parts, only_tone(named, tone_of("mi")).parts, strict=True):
        kept = [f"n{at}" for at, tone in enumerate(part.tones()) if tone.step % 7 == 2]
        assert list(other.words) == kept
    assert [part.words for part in rhythm_only(named).parts] == [p.words for p in named.parts]
