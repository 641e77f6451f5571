"""Published readings: their files, lines inside them, and where music differs from them.

The figures are those of the texts that `content/criteria/*.toml` name: each test below repeats one
sentence of such a text as a line that keeps it and lines that break it.
"""

from functools import cache
from pathlib import Path

import pytest

from bot.errors import InputProblems, NoExercise
from bot.music import criteria_lines
from bot.music.criteria_check import Asks, differences, nearest
from bot.music.criteria_file import parse_criteria
from bot.music.criteria_lines import compose_inside
from bot.music.pitch import Key, Pitch
from bot.music.rhythm import Metre
from bot.music.tonicsolfa import exercise_from_tonicsolfa
from bot.music.voice import Voice
from tests.music.levels import steps_first

FOLDER = Path(__file__).parents[2] / "content" / "criteria"
NAMES = ("colorado-middle", "florida-middle", "maine", "virginia-district-6")
TASKS = [
    ("colorado-middle", "rhythm"),
    ("colorado-middle", "melody"),
    ("florida-middle", "1"),
    ("florida-middle", "2"),
    ("florida-middle", "3"),
    ("maine", "8"),
    ("virginia-district-6", "1"),
    ("virginia-district-6", "2"),
]

# Maine: 4/4, 8 measures, ABAC, half cadence in 4, full one in 8, do to do; steps, thirds, do-so.
MAINE = """KEY F. |d :r !m :d |s :- !m :- |r :m !f :m |s :- !- :-
|d :r !m :d |s :- !m :- |m :r !m :f |r :- !d :- ||"""


@cache
def criteria(name):
    return parse_criteria((FOLDER / f"{name}.toml").read_text(encoding="utf-8"), name)


def found(text, name, task, voice=None):
    line = exercise_from_tonicsolfa(text)
    told = differences(line, criteria(name), criteria(name).task(task), voice)
    return [(each.asks, each.measure, each.beat, each.what) for each in told]


def test_every_file_is_read_and_says_where_it_comes_from():
    assert sorted(path.stem for path in FOLDER.glob("*.toml")) == sorted(NAMES)
    for name in NAMES:
        read = criteria(name)
        assert read.id == name
        assert read.body
        assert read.source
        assert read.dated
        assert read.read_on.year >= 2026
    assert criteria("virginia-district-6").study_s == 20
    assert criteria("florida-middle").span == 9
    assert criteria("florida-middle").ranges[Voice.CHANGING] == (
        Pitch.parse("G3"),
        Pitch.parse("F4"),
    )


# What each text prints for treble, changing and baritone, and its measures and metres; keys that a
# text prints by part (soprano, alto, tenor, bass) are those that a voice may meet.
PRINTED = {
    ("florida-middle", "1"): ("C", "G", "C", 8, "4/4"),
    ("florida-middle", "2"): ("C", "G", "C", 8, "3/4"),
    ("florida-middle", "3"): ("D", "A", "D", 8, "3/4 4/4"),
    ("maine", "8"): ("F Bb", "F Bb", "Bb", 8, "4/4"),
    ("virginia-district-6", "1"): ("F C", "F C", "C", 4, "4/4"),
    ("virginia-district-6", "2"): ("F C", "F C", "C", 4, "4/4"),
    ("colorado-middle", "rhythm"): ("", "", "", 4, "4/4"),
    ("colorado-middle", "melody"): ("", "", "", 4, "4/4"),
}
# Seconds of study, semitones from lowest to highest: None where the text that was read says none.
STUDY = {"florida-middle": None, "maine": None, "virginia-district-6": 20, "colorado-middle": None}
SPANS = {"florida-middle": 9, "maine": None, "virginia-district-6": None, "colorado-middle": None}


@pytest.mark.parametrize(("name", "task"), TASKS)
def test_keys_lengths_and_metres_are_those_that_are_printed(name, task):
    read = criteria(name).task(task)
    *keys, measures, metres = PRINTED[name, task]
    for voice, printed in zip(Voice, keys, strict=True):
        assert read.keys.get(voice, ()) == tuple(map(Key.parse, printed.split()))
    assert read.measures == measures
    assert read.metres == tuple(map(Metre.parse, metres.split()))
    assert (criteria(name).study_s, criteria(name).span) == (STUDY[name], SPANS[name])


@pytest.mark.parametrize(("name", "task"), TASKS)
@pytest.mark.parametrize("voice", Voice)
def test_lines_composed_inside_a_reading_differ_from_it_in_nothing(name, task, voice):
    read = criteria(name)
    lines = [
        compose_inside(read, read.task(task), steps_first(), voice, seed=seed) for seed in range(6)
    ]
    for line in lines:
        assert differences(line, read, read.task(task), voice) == ()
        assert line.measures == read.task(task).measures
    assert len({line.fingerprint() for line in lines}) > 1


@pytest.mark.long
@pytest.mark.parametrize(("name", "task"), TASKS)
def test_three_hundred_lines_inside_a_reading_differ_from_it_in_nothing(name, task):
    read = criteria(name)
    for seed in range(300):
        line = compose_inside(read, read.task(task), steps_first(), Voice.TREBLE, seed=seed)
        assert differences(line, read, read.task(task), Voice.TREBLE) == ()


def test_the_line_is_in_the_printed_key_and_range_of_its_voice():
    read = criteria("florida-middle")
    for voice, key, low, high in (
        (Voice.TREBLE, "D", "C4", "C5"),
        (Voice.CHANGING, "A", "G3", "F4"),
        (Voice.BARITONE, "D", "C3", "C4"),
    ):
        line = compose_inside(read, read.task("3"), steps_first(), voice, seed=4)
        assert line.key == Key.parse(key)
        assert Pitch.parse(low) <= min(line.pitches())
        assert max(line.pitches()) <= Pitch.parse(high)


def test_the_same_seed_gives_the_same_line():
    read = criteria("maine")
    one, same, other = (
        compose_inside(read, read.task("8"), steps_first(), Voice.TREBLE, seed=seed)
        for seed in (5, 5, 6)
    )
    assert one == same != other


def test_what_a_file_of_the_house_asks_beyond_the_shipped_ones_is_seen_to():
    text = (FOLDER / "florida-middle.toml").read_text(encoding="utf-8")
    late = text.replace('triads = ["do mi so"]', 'triads = ["do mi so"]\nskips_from = 3')
    own = parse_criteria(late, "own.toml")
    for seed in range(3):
        line = compose_inside(own, own.task("2"), steps_first(), Voice.TREBLE, seed=seed)
        assert differences(line, own, own.task("2"), Voice.TREBLE) == ()


@pytest.mark.parametrize(("name", "task"), TASKS)
def test_the_first_line_of_a_shipped_reading_will_do(name, task, monkeypatch):
    monkeypatch.setattr(criteria_lines, "_TURNS", 1)
    read = criteria(name)
    for seed in range(20, 26):
        compose_inside(read, read.task(task), steps_first(), Voice.CHANGING, seed=seed)


def test_a_key_that_the_range_does_not_hold_is_refused():
    read = criteria("florida-middle")
    with pytest.raises(NoExercise) as refusal:
        compose_inside(
            read, read.task("1"), steps_first(), Voice.TREBLE, key=Key.parse("Bb"), seed=0
        )
    assert refusal.value.key == "criteria.no_key"
    assert refusal.value.values["low"] == "C4"


def test_the_first_and_sixth_measures_come_back_in_maine():
    read = criteria("maine")
    line = compose_inside(read, read.task("8"), steps_first(), Voice.TREBLE, seed=3)
    measures = {n: [] for n in range(1, 9)}
    for offset, note in line.parts[0].timed():
        measures[line.place(offset)[0]].append((note.duration, note.tone))
    assert measures[1] == measures[5]
    assert measures[2] == measures[6]


def test_a_line_as_maine_asks_for_has_no_difference():
    assert found(MAINE, "maine", "8", Voice.TREBLE) == []


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("KEY F.", "KEY D.", (Asks.KEY, 1, 1, "D")),
        ("|r :m !f :m |s", "|r :m !f :t_ |s", (Asks.SKIP, 3, 4, "fa-ti,")),
        ("|s :- !- :-\n", "|m :- !- :-\n", (Asks.HALF_CADENCE, 4, 1, "mi")),
        ("|r :- !d :- ||", "|r :- !r :- ||", (Asks.END, 8, 3, "re")),
        ("|r :- !d :- ||", "|m :- !d :- ||", (Asks.CADENCE, 8, 1, "mi-do")),
        ("\n|d :r !m :d", "\n|d :r !d :r", (Asks.ALIKE, 5, 1, "5")),
        ("KEY F. |d", "KEY F. |m", (Asks.START, 1, 1, "mi")),
        ("|m :r !m :f |r", "|m :.r !m :f |r", (Asks.GROUP, 7, 2, "re e")),
        ("|m :r !m :f |r", "|m :r !m :fi |r", (Asks.TONE, 7, 4, "fi")),
        ("|m :r !m :f |r", "|m :r !m :- |- ", (Asks.TIE, 7, 3, "")),
    ],
)
def test_each_difference_is_told_with_measure_and_beat(old, new, told):
    assert old in MAINE
    asks, measure, beat, what = told
    got = found(MAINE.replace(old, new, 1), "maine", "8", Voice.TREBLE)
    assert any((asks, measure, beat) == each[:3] and what in (None, each[3]) for each in got), got


def test_florida_skips_in_the_tonic_triad_on_the_beat():
    plain = "KEY D. |d :m :s |m :r :d |r :m :f |s :- :- |s :f :m |r :m :r |d :r :m |d :- :- ||"
    assert found(plain, "florida-middle", "3", Voice.TREBLE) == []
    off = plain.replace("|d :m :s |m", "|d :m. :s |.m", 1)
    assert (Asks.OFF_BEAT, 2, 1.5, "so-mi") in found(off, "florida-middle", "3", Voice.TREBLE)
    other = plain.replace("|r :m :f |s", "|r :f :f |s", 1)
    assert found(other, "florida-middle", "3") == [(Asks.SKIP, 3, 2, "re-fa")]


def test_florida_is_never_wider_than_a_major_sixth_nor_out_of_the_printed_range():
    wide = "KEY C. " + "|d :r !m :f |s :l !t :- |l :s !f :m |r :- !d :- " * 2 + "||"
    told = found(wide, "florida-middle", "1", Voice.TREBLE)
    assert told == [(Asks.SPAN, 2, 3, "11")]
    low = found(wide, "florida-middle", "1", Voice.BARITONE)
    assert (Asks.RANGE, 1, 2, "D4") in low  # C4 is the baritone's highest note
    assert (Asks.RANGE, 1, 1, "C4") not in low


def test_virginia_has_mi_so_in_the_first_event_and_more_in_the_second():
    line = "KEY C. |d :r !m :s |m :- !r :- |r :f !m :r |d :- !- :- ||"
    assert found(line, "virginia-district-6", "1") == [(Asks.SKIP, 3, 2, "re-fa")]
    assert found(line, "virginia-district-6", "2") == []
    assert nearest(exercise_from_tonicsolfa(line), criteria("virginia-district-6"))[0].id == "2"


def test_only_the_rhythm_is_read_in_colorados_first_line():
    line = "KEY C. |d :s !fi :d' |t :-.l !s :- | : !d :- |d :- !- :d ||"
    assert found(line, "colorado-middle", "rhythm") == []
    assert found(line, "colorado-middle", "melody") == [(Asks.TONE, 1, 3, "fi")]


def test_the_whole_is_judged_too():
    line = "KEY C. |d :r :m |d :- :- ||"
    kinds = [each[0] for each in found(line, "virginia-district-6", "1")]
    assert {Asks.METRE, Asks.LENGTH} <= set(kinds)


FAULTY = """version = 2
id = "Not An Id"
title = "x"
body = "y"
source = "z"
dated = "undated"
read_on = "yesterday"
colour = "blue"
ranges = { treble = "C5-C4", tuba = "C2-C3" }

[[task]]
id = "1"
name = "one"
reads = "poetry"
measures = 0
metres = "4/5"
cells = ["k"]
skips = ["do-re", "do"]
triads = ["do"]
intervals = ["ninth"]
alike = ["one = two"]

[[task]]
id = "1"
name = "two"
reads = "melody"
measures = 4
metres = "4/4"
keys = { treble = "H" }
"""


def test_all_faults_of_a_file_are_told_at_once_with_their_lines():
    with pytest.raises(InputProblems) as problems:
        parse_criteria(FAULTY, "house.toml")
    told = {fault.place: fault.problem for fault in problems.value.faults}
    lines = {int(place.rpartition(":")[2]) for place in told}
    assert lines == {1, 2, 7, 8, 9, 14, 15, 16, 17, 18, 19, 20, 21, 23, 24, 29}
    assert all(fault.remedy for fault in problems.value.faults)


def test_an_unknown_reading_names_those_that_there_are():
    with pytest.raises(InputProblems, match="florida-middle/2"):
        criteria("florida-middle").task("9")
