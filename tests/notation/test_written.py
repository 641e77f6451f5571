from fractions import Fraction

import pytest
from hypothesis import given

from bot.music.rhythm import note_value
from bot.notation.written import as_written, written_measures
from tests.notation.lines import exercise
from tests.notation.made import exercises, sung


def values(line, metre="4/4", pickup=Fraction(0)):
    """Lengths of a line's signs, measure by measure, `~` for a tie, in 32nds of a whole note."""
    measures = written_measures(exercise("C", metre, line, pickup=pickup))
    return [
        " ".join(f"{note.duration * 32}{'~' * note.tied}" for note in measure.notes)
        for measure in measures
    ]


@given(exercises())
def test_what_is_written_sounds_like_what_was_composed(made):
    written = as_written(made)
    assert [sung(written, p) for p in range(len(made.parts))] == [
        sung(made, p) for p in range(len(made.parts))
    ]


@given(exercises())
def test_every_sign_has_one_value_and_stays_in_its_measure(made):
    for measure in written_measures(made):
        for note in measure.notes:
            fills = note.tone is None and note.duration == made.metre.measure
            assert fills or note_value(note.duration) == note.value is not None
            assert note.offset + note.duration <= measure.offset + measure.length


@given(exercises())
def test_writing_twice_changes_nothing(made):
    assert as_written(as_written(made)) == as_written(made)


def test_a_note_over_the_bar_line_is_cut_there_and_tied():
    assert values("0:q 1:h 2:q 3:3/2 4:h") == ["8 16 8", "32~", "16 16"]


def test_a_length_without_a_value_of_its_own_is_cut_at_the_strongest_beat():
    assert values("0:5/8 0:qd") == ["16~ 4 12"]
    assert values("0:qd 0:5/8") == ["12 4~ 16"]


def test_five_quarters_are_cut_into_two_values_of_about_equal_length():
    assert values("0:5/4", "5/4") == ["24~ 16"]


def test_a_compound_measure_is_cut_at_its_second_beat():
    assert values("0:5/8 0:e", "6/8") == ["12~ 8 4"]


def test_a_note_that_was_tied_already_stays_tied_after_its_last_piece():
    assert values("0:5/8~ 0:qd") == ["16~ 4~ 12"]


def test_a_rest_is_cut_without_a_tie_and_may_fill_any_measure():
    assert values("0:5/4 r:5/4", "5/4") == ["24~ 16", "40"]


def test_a_pickup_is_measure_0_and_ends_at_the_bar_line():
    measures = written_measures(exercise("C", "3/4", "0:h 1:q 2:q 3:h", pickup=Fraction(1, 4)))
    assert [measure.number for measure in measures] == [0, 1, 2]
    assert values("0:h 1:q 2:q 3:h", "3/4", Fraction(1, 4)) == ["8~", "8 8 8", "16"]


def test_a_triplet_is_refused_by_name():
    with pytest.raises(ValueError, match="1/12"):
        written_measures(exercise("C", "4/4", "0:1/12 1:11/12"))
