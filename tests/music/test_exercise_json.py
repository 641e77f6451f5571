"""Exercises as JSON: what goes in comes out, what does not belong is named."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.errors import InputProblems
from bot.music.exercise import Exercise, Note, Part, Tone
from bot.music.exercise_json import exercise_from_json, exercise_to_json
from bot.music.pitch import Key, Mode
from bot.music.rhythm import Metre

_tones = st.builds(Tone, step=st.integers(-14, 21), alter=st.integers(-2, 2))
_durations = st.builds(Fraction, st.integers(1, 64), st.sampled_from([1, 2, 4, 8, 16, 32, 12]))
_notes = st.one_of(
    st.builds(Note, duration=_durations),
    st.builds(Note, duration=_durations, tone=_tones, tied=st.booleans()),
)
_metres = st.builds(
    Metre,
    beats=st.integers(1, 12),
    unit=st.sampled_from([1, 2, 4, 8, 16]),
    cut=st.booleans(),
)
_keys = st.builds(Key, fifths=st.integers(-7, 7), mode=st.sampled_from(Mode))


@st.composite
def _exercises(draw):
    metre = draw(_metres)
    notes = tuple(draw(st.lists(_notes, min_size=1, max_size=12)))
    parts = tuple(
        Part(notes=notes, do_octave=octave)
        for octave in draw(st.lists(st.integers(0, 8), min_size=1, max_size=3))
    )
    pickup = draw(st.sampled_from([Fraction(0), metre.measure / 2]))
    return Exercise(key=draw(_keys), metre=metre, parts=parts, pickup=pickup)


@given(_exercises())
def test_an_exercise_comes_back_as_it_went(exercise):
    assert exercise_from_json(exercise_to_json(exercise)) == exercise


_LINE = (
    '{"version":1,"key":"Eb","metre":"4/4","pickup":"0","parts":[{"do_octave":4,"notes":"0:1/1"}]}'
)


def test_the_form_is_the_documented_one():
    line = '{"version":1,"key":"Eb","metre":"4/4","pickup":"0","parts":'
    notes = '[{"do_octave":4,"notes":"0:1/4 3+1:1/8~ 3+1:1/8 r:1/2"}]}'
    assert exercise_to_json(exercise_from_json(line + notes)) == line + notes


@pytest.mark.parametrize(
    ("old", "new", "problem"),
    [
        ('"version":1', '"version":3', "version 3: this release reads versions 1 to 2"),
        ('"key":"Eb"', '"key":"H"', "'H' is no pitch name"),
        ('"key":"Eb"', '"key":3', "key: 3 is no text"),
        ('"metre":"4/4"', '"metre":"4/5"', "the lower figure"),
        ('"metre":"4/4"', '"metre":"4/4 alla breve"', "is no metre"),
        ('"pickup":"0"', '"pickup":"1/0"', "is no length"),
        ('"pickup":"0"', '"pickup":"2"', "does not fit a measure"),
        ("0:1/1", "0:1/0", "part 1, note 1"),
        ("0:1/1", "0:1/4 do:1/4", "part 1, note 2: 'do:1/4' is no note"),
        ("0:1/1", "r:1/4~", "a rest cannot be tied"),
        ("0:1/1", "0:0", "must last longer than 0"),
        ("0:1/1", "", "every part has at least one note"),
        ('"do_octave":4', '"do_octave":"4"', "do_octave '4' is none of -1 to 9"),
        ('"do_octave":4', '"octave":4', "needs exactly do_octave and notes"),
        ('"pickup":"0"', '"pickup":"0","mood":"calm"', "needs exactly the fields"),
        ('"parts":[', '"parts":[3,', "part 1: needs exactly"),
        ("}]}", "}]", "no JSON"),
    ],
)
def test_what_does_not_belong_is_named(old, new, problem):
    with pytest.raises(InputProblems, match=problem):
        exercise_from_json(_LINE.replace(old, new))


def test_all_faults_come_at_once():
    text = _LINE.replace("Eb", "H").replace("4/4", "x").replace("0:1/1", "a b")
    with pytest.raises(InputProblems) as problems:
        exercise_from_json(text)
    assert [fault.place for fault in problems.value.faults] == [
        "key",
        "metre",
        "part 1, note 1",
        "part 1, note 2",
    ]
