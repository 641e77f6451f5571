"""ABC: read, written, compared with another reader, refused."""

import re
from fractions import Fraction
from itertools import islice
from pathlib import Path

import music21
import pytest
from hypothesis import given
from hypothesis import strategies as st
from music21 import converter

from bot.errors import InputProblems
from bot.music.pitch import Key
from bot.music.rhythm import Metre
from bot.notation.abc import exercise_from_abc
from bot.notation.abc_write import exercise_to_abc
from tests.music.drawn import exercises, heard

_CORPUS = Path(music21.__file__).parent / "corpus"


def _tune(body, *, metre="4/4", key="C", unit="1/8"):
    return exercise_from_abc(f"X:1\nT:made for a test\nM:{metre}\nL:{unit}\nK:{key}\n{body}\n")


def _sung(exercise, part=0):
    return " ".join(
        f"{exercise.pitch(note.tone, part).plain if note.tone else 'r'}:{note.duration}"
        f"{'~' if note.tied else ''}"
        for note in exercise.parts[part].notes
    )


def _faults(text, file="tune.abc"):
    with pytest.raises(InputProblems) as caught:
        exercise_from_abc(text, file)
    return [str(fault) for fault in caught.value.faults]


def test_a_tune_is_read_with_key_metre_pickup_and_lengths():
    exercise = _tune("C2|F2 A2 c2|d>c B3 A|G4-G2|F4|]", metre="3/4", key="F")

    assert (exercise.key, exercise.metre) == (Key.parse("F"), Metre(beats=3))
    assert exercise.pickup == Fraction(1, 4)
    assert _sung(exercise) == (
        "C4:1/4 F4:1/4 A4:1/4 C5:1/4 D5:3/16 C5:1/16 Bb4:3/8 A4:1/8 G4:1/2~ G4:1/4 F4:1/2"
    )


@given(exercise=exercises(do_octaves=(3, 4)))
def test_an_exercise_is_read_back_from_its_abc(exercise):
    assert heard(exercise_from_abc(exercise_to_abc(exercise))) == heard(exercise)


@given(text=st.text(alphabet="CDEcde^_=,'/2348|:[]()><-zZ &!\"%\nVKM", max_size=60))
def test_any_text_is_read_or_refused_with_its_places(text):
    try:
        _tune(text)
    except InputProblems as problems:
        assert all(re.match(r"ABC, line \d+, column", each.place) for each in problems.faults)


def _plain(text):
    """Whether a tune has only what music21 10.5 reads rightly.

    It lets no accidental hold to the end of its bar, repeats from the beginning where the standard
    means the last repeat sign, and loses notes after ornaments that are letters.
    """
    body = text.split("K:", 1)[1].split("\n", 1)[1]
    return not re.search(r":\||\|:|::|[\^_=H-Wuv{~]", body)


def _corpus_tunes(file):
    for text in re.split(r"(?m)^(?=X:)", (_CORPUS / file).read_text(encoding="utf-8")):
        if text.startswith("X:") and _plain(text):
            yield text


def _by_music21(text):
    return [
        (note.pitch.nameWithOctave.replace("-", "b") if note.isNote else "r", note.quarterLength)
        for note in converter.parse(text, format="abc").flatten().notesAndRests
    ]


def _by_us(exercise):
    return [
        (exercise.pitch(note.tone).plain if note.tone else "r", 4 * note.duration)
        for note in exercise.parts[0].notes
    ]


@pytest.mark.parametrize(
    ("file", "tunes"),
    [("essenFolksong/kinder0.abc", 24), ("essenFolksong/erk5.abc", 5), ("airdsAirs/book1.abc", 3)],
)
def test_tunes_are_read_note_for_note_as_music21_reads_them(file, tunes):
    compared = 0
    for text in islice(_corpus_tunes(file), 2 * tunes):
        try:
            exercise = exercise_from_abc(text)
        except InputProblems:
            continue
        assert _by_us(exercise) == _by_music21(text), text
        compared += 1
        if compared == tunes:
            return
    pytest.fail(f"only {compared} tunes of {file} could be compared")


@pytest.mark.parametrize(
    ("body", "sung"),
    [
        ("^F2 F2 f2 =F2", "F#4:1/4 F#4:1/4 F#5:1/4 F4:1/4"),
        ("_B2 z2 ^^C2 __D2|B8", "Bb4:1/4 r:1/4 C##4:1/4 Dbb4:1/4 B4:1"),
        ("C,2 c2 c'2 C,,2", "C3:1/4 C5:1/4 C6:1/4 C2:1/4"),
        ("C/2C/C//C//C3/ D3/2 E3z/", "C4:1/16 C4:1/16 C4:1/32 C4:1/32 C4:3/16 D4:3/16 "
         "E4:3/8 r:1/16"),
        ("C>D E<F C>>D z3/2 z/4z/4", "C4:3/16 D4:1/16 E4:1/16 F4:3/16 C4:7/32 D4:1/32 r:3/16 "
         "r:1/32 r:1/32"),
        ("^F8-|F8|F8", "F#4:1~ F#4:1 F4:1"),
        ("Z2|C8", "r:1 r:1 C4:1"),
        ('"Am"{g}!fermata!C2 (D2 ~E2) .F2 % a remark', "C4:1/4 D4:1/4 E4:1/4 F4:1/4"),
        ("C4 \\\nD4|$E8|]", "C4:1/2 D4:1/2 E4:1"),
        ("[L:1/4] C4|[K:C][M:4/4] D4", "C4:1 D4:1"),
        ("C8\nD8\n", "C4:1 D4:1"),
    ],
)  # fmt: skip
def test_signs_are_read_as_the_standard_says(body, sung):
    assert _sung(_tune(body)) == sung


@pytest.mark.parametrize(
    ("body", "letters"),
    [
        ("C8:|D8|", "CCD"),
        ("|:C8|D8:|E8|", "CDCDE"),
        ("C8::D8:|", "CCDD"),
        ("C8:||:D8:|", "CCDD"),
        ("|:C8|1 D8:|2 E8|F8|", "CDCEF"),
        ("|:C8|[1 D8|E8:|[2 F8|G8|]", "CDECFG"),
        ("C8||D8|:E8|1 F8:|2 G8|A8:|", "CDEFEGA"),
    ],
)
def test_repeats_are_written_out(body, letters):
    exercise = _tune(body)

    assert "".join(pitch.letter for pitch in exercise.pitches()) == letters


def test_a_repeat_sign_may_cut_a_measure_in_two():
    exercise = _tune("|:G2|c4 e2 G2|c6:|:e2|g8|c6:|")

    assert exercise.pickup == Fraction(1, 4)
    assert exercise.length == 8


def test_the_unit_length_follows_from_the_metre_where_none_is_stated():
    short = exercise_from_abc("X:1\nM:2/4\nK:C\nC8|")
    long = exercise_from_abc("X:1\nM:3/4\nK:C\nC6|")

    assert (short.length, long.length) == (Fraction(1, 2), Fraction(3, 4))


@pytest.mark.parametrize(
    ("stated", "key"),
    [
        ("Eb", "Eb"), ("F#", "F#"), ("Am", "A minor"), ("Bb major", "Bb"), ("Cmin", "C minor"),
        ("D minor", "D minor"), ("G maj clef=treble", "G"), ("E aeolian", "E minor"),
        ("C bass", "C"),
    ],
)  # fmt: skip
def test_keys_are_read(stated, key):
    assert _tune("C8", key=stated).key == Key.parse(key)


def test_a_clef_with_an_eight_moves_the_notes():
    assert _sung(_tune("C8", key="C clef=treble-8")) == "C3:1"


def test_voices_become_parts_in_the_order_in_which_they_are_declared():
    text = (
        "X:1\nM:2/4\nL:1/4\nV:high name=Soprano\nV:low clef=bass octave=-1\nK:G\n"
        "[V:low] D|G2|D|]\nV:high\nd|B2|A|]\n"
    )

    exercise = exercise_from_abc(text)

    assert (_sung(exercise, 0), _sung(exercise, 1)) == (
        "D5:1/4 B4:1/2 A4:1/4",
        "D3:1/4 G3:1/2 D3:1/4",
    )


def test_what_is_written_is_plain_abc():
    exercise = _tune("G2|c3 ^c d2 _B=B|c8-|c2 z4|]", key="C")

    assert exercise_to_abc(exercise, title="Made  up", number=7) == (
        "X:7\nT:Made up\nM:4/4\nL:1/8\nK:C\nG2 | c3 ^c d2 _B=B | c8- | c2 z4 |]\n"
    )


def test_parts_are_written_as_voices_and_cut_time_as_its_sign():
    exercise = exercise_from_abc("X:1\nM:C|\nK:Dm\nV:1\nd8|\nV:2\nD8|\n")

    assert exercise_to_abc(exercise) == ("X:1\nM:C|\nL:1/8\nK:Dm\nV:1\nd8 |]\nV:2\nD8 |]\n")


def test_every_fault_is_told_with_its_place():
    text = "X:1\nM:4/4\nL:1/8\nK:Ador\n(3cde c2 d4|[ceg]8|c3 d4|\nc6 H|c8-|d8|c5/7|?c8\n"

    assert _faults(text) == [
        "tune.abc, line 4, column 1: a dorian key: a reading is in major or in minor",
        "tune.abc, line 5, column 1: a triplet or other tuplet "
        "(a reading divides beats in two and four)",
        "tune.abc, line 5, column 13: a chord (write parts as voices V:1, V:2)",
        "tune.abc, line 6, column 13: the length '5/7' (write for example c2, c/2 or c3/2)",
        "tune.abc, line 6, column 18: '?' means nothing here "
        "(notes are C to B and c to b, rests z, bar lines |)",
        "tune.abc, line 5, column 20: this measure adds up to 3 1/2 beats of 1/4 (4/4 needs 4)",
        "tune.abc, line 6, column 1: this measure adds up to 3 beats of 1/4 (4/4 needs 4)",
        "tune.abc, line 6, column 6: a tie that leads to no note of the same pitch "
        "(take it out, or make it a slur with ( and ))",
    ]


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("", "line 1, column 1: no key is stated (the header ends with K:, as K:F)"),
        ("X:1\nK:C\nC8", "line 2, column 1: no meter is stated"),
        ("X:1\nM:4/4\nC8|\nK:C\nC8", "line 3, column 1: notes before K:"),
        ("X:1\nM:none\nK:C\nC8", "line 2, column 1: 'none' is no metre"),
        ("X:1\nM:4/4\nL:1/5\nK:C\nC8", "line 3, column 1: L:1/5 is no unit length"),
        ("X:1\nM:4/4\nK:H\nC8", "line 3, column 1: K:H is no key"),
        ("X:1\nM:4/4\nK:C exp ^f\nC8", "line 3, column 1: 'exp' in K:"),
        ("X:1\nM:4/4\nK:C\nC8|\nK:G\nG8|", "line 5, column 1: the key changes"),
        ("X:1\nM:4/4\nK:C\nC8|[M:3/4]G6|", "line 4, column 4: the meter changes"),
        ("X:1\nM:4/4\nP:AABB\nK:C\nC8|", "line 3, column 1: an order of sections (P:)"),
        ("X:1\nM:4/4\nm:~n=n\nK:C\nC8|", "line 3, column 1: a macro (m:)"),
        ("X:1\nM:4/4\nK:C\n", "line 1, column 1: there are no notes"),
        ("X:1\nM:4/4\nK:C\nz8", "line 1, column 1: there are no notes"),
        ("X:1\nM:4/4\nK:C\nC8\n\nX:2\nK:C\nD8", "line 6, column 1: a second tune"),
        ("X:1\nM:4/4\nK:C\nC8&E8|", "line 4, column 3: two voices in one line (&)"),
        ("X:1\nM:4/4\nK:C\n>C8|", "line 4, column 1: > with no note before it"),
        ("X:1\nM:4/4\nK:C\nC8>|C8", "line 4, column 4: a bar line after > or <"),
        ("X:1\nM:4/4\nK:C\n-C8|", "line 4, column 1: a tie with no note before it"),
        ("X:1\nM:4/4\nK:C\nC0|", "line 4, column 1: the length '0'"),
        ("X:1\nM:4/4\nK:C\nC8|D4|", "line 4, column 4: this measure adds up to 2 beats of 1/4"),
        ("X:1\nM:4/4\nK:C\n|:C8|1,3 D8:|2 E8|", "line 4, column 6: an ending for the times 1,3"),
        ("X:1\nM:4/4\nK:C\n|:C8|1 D8:|E8|", "line 4, column 8: a first ending without a second"),
        ("X:1\nM:4/4\nK:C\nV:1\nC8|\nV:2\nC8|D8|", "line 7, column 1: this voice lasts 2 measures"),
        ("X:1\nM:4/4\nK:C\n" + "".join(f"V:{n}\nC8|\n" for n in range(4)),
         "line 11, column 1: a fourth voice"),
        ("X:1\nM:4/4\nK:C\nZ129|C8|", "line 4, column 1: more than 128 measures"),
    ],
)  # fmt: skip
def test_a_fault_names_its_place(text, fault):
    assert any(told.startswith(f"tune.abc, {fault}") for told in _faults(text))


def test_a_whole_book_is_refused_at_the_door():
    assert _faults("X:1\n" * 50_000) == [
        "tune.abc: it has more than 100000 characters (keep one tune)"
    ]
