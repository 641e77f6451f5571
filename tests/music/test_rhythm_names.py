"""Rhythm syllables against the published table (trade.md 2.3), one row of it a case."""

import doctest
from fractions import Fraction

import pytest

from bot.music import rhythm_names
from bot.music.exercise import Exercise, Note, Part, Tone
from bot.music.pitch import Key
from bot.music.rhythm import Metre
from bot.music.rhythm_names import RhythmNames, beat_figures, rhythm_words

TIRI, TIKA, TA_DI, DU_DE, ONE_AND, ONE_TE = RhythmNames
WORTH = {"w": 16, "h": 8, "q": 4, "e": 2, "s": 1}


def line(text, metre="4/4", pickup=0):
    notes = []
    for word in text.split():
        rest, word = word.startswith("r"), word.removeprefix("r")
        tied, word = word.endswith("~"), word.removesuffix("~")
        worth = Fraction(WORTH[word[0]], 16) * (Fraction(3, 2) if word.endswith(".") else 1)
        notes.append(Note(duration=worth, tone=None if rest else Tone(step=0), tied=tied))
    return Exercise(
        key=Key(fifths=0),
        metre=Metre.parse(metre),
        parts=(Part(notes=tuple(notes)),),
        pickup=Fraction(pickup),
    )


@pytest.mark.parametrize(
    ("rhythm", "metre", "said"),
    [
        ("q", "4/4", ("ta", "ta", "ta", "du", "1", "1")),
        ("e e", "4/4", ("ti ti", "ti ti", "ta di", "du de", "1 &", "1 te")),
        (
            "s s s s",
            "4/4",
            (
                "ti ri ti ri",
                "ti ka ti ka",
                "ta ka di mi",
                "du ta de ta",
                "1 e & a",
                "1 ti te ta",
            ),
        ),
        ("h", "4/4", ("ta-a", "ta-a", "ta", "du", "1 (2)", "1")),
        ("q. e", "4/4", ("tai ti", "tam ti", "ta di", "du de", "1 (2) &", "1 (2) te")),
        ("e. s", "4/4", ("teem ri", "tim ka", "ta mi", "du ta", "1 a", "1 ta")),
        ("e e e", "6/8", (None, "ti ti ti", "ta ki da", "du da di", "1 & a", "1 la li")),
        (
            "s s s s s s",
            "6/8",
            (None, None, "ta va ki di da ma", "du ta da ta di ta", None, "1 ta la ta li ta"),
        ),
    ],
)
def test_the_published_table(rhythm, metre, said):
    for names, words in zip(RhythmNames, said, strict=True):
        if words is not None:
            assert " ".join(rhythm_words(line(rhythm, metre), names)) == words, names


def test_the_place_in_the_measure_is_counted_and_held_beats_stand_in_brackets():
    assert rhythm_words(line("q e e h"), ONE_AND) == ("1", "2", "&", "3 (4)")
    assert rhythm_words(line("w"), ONE_AND) == ("1 (2) (3) (4)",)
    assert rhythm_words(line("w"), TIRI) == ("ta-a-a-a",)
    assert beat_figures(line("h. q")) == ("1 (2) (3)", "4")


def test_rests_are_silent_and_move_the_rest_along():
    assert rhythm_words(line("rq q re e q"), TA_DI) == ("ta", "di", "ta")
    assert beat_figures(line("rq q re e q")) == ("2", "", "4")


def test_a_tie_is_one_sound():
    assert rhythm_words(line("q~ e e h"), TIKA) == ("tam", "ti", "ta-a")
    assert beat_figures(line("h~ q q")) == ("1 (2) (3)", "4")


def test_a_pickup_is_counted_to_the_end_of_its_measure():
    assert beat_figures(line("q h. q", pickup=Fraction(1, 4))) == ("4", "1 (2) (3)", "4")


def test_cut_time_has_its_half_as_the_beat():
    assert rhythm_words(line("q q h", "cut"), TA_DI) == ("ta", "di", "ta")
    assert rhythm_words(line("q q h", "cut"), ONE_TE) == ("1", "te", "2")


def test_what_the_table_leaves_open_stays_empty():
    assert rhythm_words(line("s s s s s s", "6/8"), ONE_AND) == ("1", "", "&", "", "a", "")


def test_the_examples_hold():
    assert doctest.testmod(rhythm_names).failed == 0
