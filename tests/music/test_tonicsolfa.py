"""Tonic sol-fa letters: read, written, refused."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.errors import InputProblems, Refused
from bot.music.exercise import Exercise, Note, Part, Tone
from bot.music.letters import DEGREES, NAMES, Dialect, name_of
from bot.music.pitch import Key
from bot.music.rhythm import Metre
from bot.music.tonicsolfa import exercise_from_tonicsolfa
from bot.music.tonicsolfa_write import exercise_to_tonicsolfa
from tests.music.drawn import exercises, heard

# Which chromatic tones the two dialects share: those that both have a word for.
_SHARED = (
    *(Tone(step=step) for step in range(-7, 14)),
    Tone(step=3, alter=1),
    Tone(step=-3, alter=1),
    Tone(step=6, alter=-1),
    Tone(step=9, alter=-1),
)


def _sung(exercise, part=0):
    return [
        (str(exercise.pitch(note.tone, part)) if note.tone else "rest", str(note.duration))
        for note in exercise.parts[part].notes
    ]


def _faults(text, **options):
    with pytest.raises(InputProblems) as caught:
        exercise_from_tonicsolfa(text, **options)
    return [str(fault) for fault in caught.value.faults]


# The three made-up examples of trade.md 4.3, with the pitches that were worked out there by hand.


def test_the_first_example_of_the_trade_is_read():
    exercise = exercise_from_tonicsolfa("KEY F.  |d :r |m :m |f :r |d :- ||")

    assert exercise.metre == Metre(beats=2)
    assert _sung(exercise) == [
        *[("F4", "1/4"), ("G4", "1/4"), ("A4", "1/4"), ("A4", "1/4")],
        *[("B♭4", "1/4"), ("G4", "1/4"), ("F4", "1/2")],
    ]


def test_the_second_example_of_the_trade_is_read():
    exercise = exercise_from_tonicsolfa(
        "KEY G.  |d :d.r !m :s |f.m :r.d !r :- |m :s !f :r |d :- !- :  ||"
    )

    assert exercise.metre == Metre()
    assert _sung(exercise) == [
        *[("G4", "1/4"), ("G4", "1/8"), ("A4", "1/8"), ("B4", "1/4"), ("D5", "1/4")],
        *[("C5", "1/8"), ("B4", "1/8"), ("A4", "1/8"), ("G4", "1/8"), ("A4", "1/2")],
        *[("B4", "1/4"), ("D5", "1/4"), ("C5", "1/4"), ("A4", "1/4")],
        *[("G4", "3/4"), ("rest", "1/4")],
    ]


def test_the_third_example_of_the_trade_is_read_with_its_pickup_in_curwens_names():
    exercise = exercise_from_tonicsolfa(
        "KEY F. LAH is D.  :m_ |l_ :-.t_ :d |t_.,l_ :se_ :m_ |l_ :- ||", dialect=Dialect.CURWEN
    )

    assert (exercise.metre, exercise.key) == (Metre(beats=3), Key.parse("D minor"))
    assert (exercise.pickup, exercise.length) == (Fraction(1, 4), Fraction(9, 4))
    assert _sung(exercise) == [
        ("A3", "1/4"),
        *[("D4", "3/8"), ("E4", "1/8"), ("F4", "1/4")],
        *[("E4", "3/16"), ("D4", "1/16"), ("C♯4", "1/4"), ("A3", "1/4")],
        ("D4", "1/2"),
    ]


@pytest.mark.parametrize("dialect", Dialect)
@given(exercise=exercises(tones=_SHARED, do_octaves=(3, 4)))
def test_an_exercise_is_read_back_from_its_letters(dialect, exercise):
    text = exercise_to_tonicsolfa(exercise, dialect=dialect)

    read = exercise_from_tonicsolfa(text, dialect=dialect, metre=exercise.metre)

    assert heard(read) == heard(exercise)
    assert [part.do_octave for part in read.parts] == [part.do_octave for part in exercise.parts]
    assert exercise_to_tonicsolfa(read, dialect=dialect) == text


@given(text=st.text(alphabet="KEYLAHisdrmfslteaob'_,.-|!: \n#3", max_size=60))
def test_any_text_is_read_or_refused_with_its_places(text):
    try:
        exercise_from_tonicsolfa(f"KEY F.\n{text}")
    except InputProblems as problems:
        assert all(fault.place.startswith("line ") for fault in problems.faults)


@pytest.mark.parametrize(
    ("accents", "metre"),
    [
        ("|d :r |m :f", Metre(beats=2)),
        ("|d :r :m |f :s :l", Metre(beats=3)),
        ("|d :r !m :f", Metre()),
        ("|d :r :m !f :s :l", Metre(beats=6, unit=8)),
    ],
)
def test_the_metre_is_read_off_the_accents(accents, metre):
    assert exercise_from_tonicsolfa(f"KEY C. {accents} ||").metre == metre


def test_the_director_says_what_a_pulse_is_worth():
    cut = Metre.parse("cut")

    exercise = exercise_from_tonicsolfa("KEY C. |d :- |r.m :f ||", metre=cut)

    assert _sung(exercise) == [("C4", "1"), ("D4", "1/4"), ("E4", "1/4"), ("F4", "1/2")]


@pytest.mark.parametrize(
    ("pulse", "lengths"),
    [
        ("d,r", ["1/16", "3/16"]),
        ("d.,r", ["3/16", "1/16"]),
        ("d,r.m", ["1/16", "1/16", "1/8"]),
        ("d.r,m", ["1/8", "1/16", "1/16"]),
        ("d,r.,m", ["1/16", "1/8", "1/16"]),
        ("d,r.m,f", ["1/16", "1/16", "1/16", "1/16"]),
        (".d", ["1/8", "1/8"]),
    ],
)
def test_points_and_commas_cut_a_pulse(pulse, lengths):
    exercise = exercise_from_tonicsolfa(f"KEY C. |{pulse} :s ||")

    assert [length for _, length in _sung(exercise)][: len(lengths)] == lengths


def test_silence_is_cut_where_a_beat_begins():
    exercise = exercise_from_tonicsolfa("KEY C. |d : ! : | : ! : |d.,: ! :d ||")

    lengths = [str(note.duration) for note in exercise.parts[0].notes if note.tone is None]
    assert lengths == ["1/4", "1/2", "1", "1/16", "1/4", "1/4"]


def test_a_pickup_shorter_than_a_pulse_takes_no_more_room_than_it_sounds():
    exercise = exercise_from_tonicsolfa("KEY C. :.s_ |d :r !m :f |s :- !- :-. ||")

    assert (exercise.pickup, exercise.length) == (Fraction(1, 8), Fraction(2))


def test_parts_follow_one_another_each_with_its_key():
    text = "KEY F.\n:d |m :- |f :s ||\n\nKEY F3. : |d :- |r :m ||"

    exercise = exercise_from_tonicsolfa(text)

    assert exercise.pitches(0) == exercise_from_tonicsolfa("KEY F. |d :m |f :s").pitches(0)
    assert [str(pitch) for pitch in exercise.pitches(1)] == ["F3", "G3", "A3"]
    assert exercise.pickup == Fraction(1, 4)


def test_a_line_may_close_with_a_bar_and_the_next_begin_with_one():
    exercise = exercise_from_tonicsolfa("KEY F.\n|d :r |\n|m :f |")

    assert exercise.measures == 2


def test_what_phones_type_for_an_apostrophe_and_a_hyphen_is_read():
    exercise = exercise_from_tonicsolfa("key Bb |D :m |d’ :– ||")

    assert _sung(exercise)[-1] == ("B♭5", "1/2")


def test_a_comma_after_a_letter_is_the_low_octave_where_that_is_asked_for():
    exercise = exercise_from_tonicsolfa("KEY F. |s, :l,,.t, |d :d ,r||", low_commas=True)

    assert [str(pitch) for pitch in exercise.pitches()] == ["C4", "D3", "E4", "F4", "F4", "G4"]
    assert [length for _, length in _sung(exercise)][-2:] == ["1/16", "3/16"]


def test_se_is_two_tones_in_two_dialects():
    modern = exercise_from_tonicsolfa("KEY C. |se :d ||")
    curwen = exercise_from_tonicsolfa("KEY C. |se :d ||", dialect=Dialect.CURWEN)

    assert (str(modern.pitches()[0]), str(curwen.pitches()[0])) == ("G♭4", "G♯4")


def test_every_name_is_written_as_it_is_read():
    for dialect in Dialect:
        for name, tone in NAMES[dialect].items():
            written = name_of(tone, dialect, minor=name == "ba")
            assert written == name or (name, written) == ("fe", "ba")


def test_every_fault_is_told_with_its_place_and_what_would_be_right():
    text = "KEY F. LAH is C. |d :r |m :x :- |dr :d.r.m |- :- || d"

    assert _faults(text) == [
        "line 1, column 1: LAH is C (in KEY F it is D)",
        "line 1, column 24: measure 2 has 3 pulses (each has 2, written | :)",
        "line 1, column 28: 'x' is no note "
        "(the letters are d r m f s l t, with ' for higher and _ for lower)",
        "line 1, column 34: 'dr' is no note (two notes in one pulse are parted by a point: d.r)",
        "line 1, column 37: a pulse cut by . . "
        "(one . for the halves, one , before it and one after it for quarters)",
        "line 1, column 53: something stands after the double bar",
    ]


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("|d :r", "line 1, column 1: there is no KEY (begin with for example KEY F.)"),
        ("KEY H. |d :r", "line 1, column 1: KEY names no note "
         "(write for example KEY F. or KEY Bb.)"),
        ("KEY F. |- :d", "line 1, column 9: - has no note to hold "
         "(leave the place empty for silence)"),
        ("KEY F. d |d :r", "line 1, column 8: 'd' stands before the first mark "
         "(every pulse begins with | ! or :)"),
        ("KEY F. |fe :d", "line 1, column 9: 'fe' is no note "
         "(it is one of the curwen names: choose those)"),
        ("KEY F. |d :r :m :f |d :r :m :f", "line 1, column 14: ':' in measure 1"),
        ("KEY F. |d :r :m :f :s", "line 1, column 8: a measure of 5 pulses "
         "(2, 3, 4 or 6 pulses stand from one | to the next)"),
        ("KEY F. :d :r |d :r", "line 1, column 14: 2 pulses before the first | "
         "(a pickup in 2/4 is shorter than 2 pulses)"),
        ("KEY F.", "line 1, column 1: there are no notes (write for example |d :r |m :- ||)"),
        ("  \n", "line 1, column 1: there is nothing to read"),
        ("KEY F. |d :r\nKEY G. |d :r", "line 2, column 1: another key (all parts are in F major)"),
        ("KEY F. |d :r\nKEY F. |d :r :m", "line 2, column 1: 3/4 (the first part has 2/4)"),
        ("KEY F. |d :r\nKEY F. :d |d :r", "line 2, column 1: 3 pulses, 1 of them before the "
         "first | (the first part has 2, 0 before it)"),
        ("KEY F. |d :r\n" * 4, "line 4, column 1: a fourth part (three parts at the most)"),
    ],
)  # fmt: skip
def test_a_fault_names_its_place(text, fault):
    assert any(told.startswith(fault) for told in _faults(text))


def test_a_whole_book_is_refused_at_the_door():
    assert _faults("KEY F. |" + "d" * 20_000) == [
        "letters: more than 20000 characters (keep one tune)"
    ]


def _line(*notes, metre=None, pickup=Fraction(0)):
    part = Part(notes=tuple(Note(duration=Fraction(d), tone=tone) for d, tone in notes))
    return Exercise(key=Key.parse("F"), metre=metre or Metre(), parts=(part,), pickup=pickup)


_DO = Tone(step=0)


@pytest.mark.parametrize(
    ("exercise", "key", "values"),
    [
        (
            _line(("1", _DO), ("1/12", _DO), ("1/12", _DO), ("1/12", _DO), ("3/4", _DO)),
            "formats.letters.length",
            {"measure": 2, "beat": Fraction(4, 3)},
        ),
        (
            _line(("1/2", _DO), ("1/2", Tone(step=2, alter=1))),
            "formats.letters.tone",
            {"measure": 1, "beat": 3},
        ),
        (_line(("5/4", _DO)), "formats.letters.last", {"measure": 2}),
        (
            _line(("9/8", _DO), metre=Metre(beats=9, unit=8)),
            "formats.letters.metre",
            {"metre": Metre(beats=9, unit=8)},
        ),
    ],
)
def test_what_letters_cannot_hold_is_refused_with_its_place(exercise, key, values):
    with pytest.raises(Refused) as caught:
        exercise_to_tonicsolfa(exercise)

    assert (caught.value.key, caught.value.values) == (key, values)


def test_lines_break_after_four_measures():
    exercise = exercise_from_tonicsolfa("KEY F. :s_ |d :r |m :f |s :l |t :d' |d")

    text = exercise_to_tonicsolfa(exercise)

    assert text == "KEY F.  :s_ |d :r |m :f |s :l |t :d'\n|d ||\n"


def test_the_letters_are_those_of_the_scale():
    assert [NAMES[Dialect.MODERN][letter].step for letter in DEGREES] == [0, 1, 2, 3, 4, 5, 6]
