from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given

from bot.music.solfa import Naming, Solfa
from bot.notation.words import describe, summary
from bot.notation.written import written_measures
from tests.notation.lines import english, exercise
from tests.notation.made import exercises


def told(made, part=0, hide_first=False, **dialect):
    return describe(made, Solfa(**dialect), english(), part, hide_first=hide_first)


def test_a_line_is_told_measure_by_measure():
    made = exercise("F", "4/4", "0:q 1:q 2:h 4:qd 3:e 0:h")
    assert told(made) == (
        "F major, 4/4, 2 measures. "
        "Measure 1: do quarter, re quarter, mi half. "
        "Measure 2: so dotted quarter, fa eighth, do half."
    )


def test_pickup_ties_and_rests_are_told():
    made = exercise("Bb", "3/4", "-3:q 0:hd 2:3/4 r:3/4 4:q r:q", pickup=Fraction(1, 4))
    assert told(made) == (
        "B flat major, 3/4, 4 measures and a pickup. Pickup: low so quarter. "
        "Measure 1: do dotted half. Measure 2: mi dotted half. Measure 3: rest for the whole "
        "measure. Measure 4: so quarter, quarter rest."
    )
    over = exercise("C", "4/4", "0:hd 4:h 0:hd")
    assert "so quarter tied over. Measure 2: held quarter, do dotted half." in told(over)


def test_octaves_are_told_as_low_and_high():
    made = exercise("C", "4/4", "-3:q 7:q 14:q -8:q")
    assert "low so quarter, high do quarter, very high do quarter, very low ti quarter" in told(
        made
    )


def test_each_part_is_told_by_itself():
    made = exercise("C", "4/4", "4:w", "0:w")
    assert told(made, 0).endswith("Measure 1: so whole.")
    assert told(made, 1).endswith("Measure 1: do whole.")


def test_a_choir_hears_its_own_dialect():
    made = exercise("D", "4/4", "4:q 3+:q 6:q -3-:q")
    assert told(made, fifth="sol", seventh="si").endswith(
        "sol quarter, fi quarter, si quarter, low se quarter."
    )
    assert told(made, naming=Naming.NUMBERS).endswith(
        "number 5 quarter, sharp number 4 quarter, number 7 quarter, low flat number 5 quarter."
    )
    assert told(made, naming=Naming.LETTERS).endswith(
        "A quarter, G sharp quarter, C sharp quarter, low A flat quarter."
    )


def test_minor_counts_its_octaves_from_the_tonic_that_the_choir_uses():
    made = exercise("D minor", "4/4", "-2:h 5:h")
    assert told(made).endswith("Measure 1: low la half, la half.")
    assert told(made, do_based_minor=True).endswith("Measure 1: do half, high do half.")


@pytest.mark.parametrize("naming", Naming)
def test_the_first_note_can_be_left_for_the_singers_to_find(naming):
    made = exercise("F", "4/4", "r:q 4:q 3:q 2:q 4:w")
    hidden = told(made, hide_first=True, naming=naming)
    assert "Measure 1: quarter rest, first note quarter, " in hidden
    assert hidden.split("first note quarter")[1] == told(made, naming=naming).split("quarter", 2)[2]


def test_a_first_note_that_is_held_is_not_given_away_by_its_tie():
    made = exercise("F", "4/4", "4:3/2 2:h")
    assert told(made, hide_first=True).endswith(
        "Measure 1: first note whole tied over. Measure 2: held half, mi half."
    )


@given(exercises())
def test_every_sign_on_the_page_is_told(made):
    for part in range(len(made.parts)):
        measures = written_measures(made, part)
        sentences = told(made, part).split(". ")[1:]
        assert len(sentences) == len(measures)
        for sentence, measure in zip(sentences, measures, strict=True):
            assert len(sentence.split(", ")) == len(measure.notes)


def test_a_summary_is_one_short_line():
    assert summary(exercise("Eb", "cut", "0:w"), english()) == "E flat major, cut time, 1 measure"
    assert summary(exercise("F# minor", "6/8", "0:hd 0:hd"), english()) == (
        "F sharp minor, 6/8, 2 measures"
    )


def test_the_words_of_a_line_are_told_whole_and_note_by_note():
    made = exercise("F", "4/4", "0:q 1:q 2:h 0:w")
    worded = replace(made, parts=(replace(made.parts[0], words=("Lan-", "terns", "glow", "red")),))
    assert told(worded) == (
        "F major, 4/4, 2 measures. Words: “Lanterns glow red”. "
        "Measure 1: do quarter on “Lan-”, re quarter on “terns”, mi half on “glow”. "
        "Measure 2: do whole on “red”."
    )


def test_a_page_of_rhythm_alone_is_told_without_key_or_tones():
    made = exercise("Eb", "3/4", "-3:q 0:h~ 0:q r:q 4:q", pickup=Fraction(1, 4))
    for hide_first in (False, True):
        told_bare = describe(made, Solfa(), english(), hide_first=hide_first, rhythm_only=True)
        assert told_bare == (
            "Rhythm, 3/4, 2 measures and a pickup. Pickup: quarter. Measure 1: half tied over, "
            "held quarter. Measure 2: quarter rest, quarter."
        )
