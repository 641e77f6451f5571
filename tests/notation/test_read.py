"""What a director's file may hold, and what it is told where it holds something else."""

from fractions import Fraction

import pytest

from bot.errors import InputProblems
from bot.music.pitch import Key
from bot.music.rhythm import Metre
from bot.music.voice import Clef
from bot.notation.brought import read_music
from bot.notation.read import LeftOut, exercise_from_musicxml, music_from_musicxml
from tests.notation.files import attributes, line, measures, note, notes, score
from tests.notation.lines import exercise

_TREBLE8 = "<sign>G</sign><line>2</line><clef-octave-change>-1</clef-octave-change>"
_CLARINET = "<transpose><diatonic>-1</diatonic><chromatic>-2</chromatic></transpose>"
_OCTAVE_DOWN = "<transpose><chromatic>0</chromatic><octave-change>-1</octave-change></transpose>"
_TIE, _TIED = '<tie type="start"/>', '<tie type="stop"/>'


def read(data):
    return exercise_from_musicxml(data, "file.musicxml")


def faults(data):
    with pytest.raises(InputProblems) as caught:
        read(data)
    return [f"{fault.place}: {fault.problem}" for fault in caught.value.faults]


def one(*contents, **signature):
    """A file of one part whose measures are given as elements."""
    return score(measures(attributes(**signature) + contents[0], *contents[1:]))


def test_a_plain_line_is_read():
    assert read(line("C4 D4 E4 F4", "G4:4 r G4", "C4:8")) == exercise(
        "C", "4/4", "0:q 1:q 2:q 3:q 4:h r:q 4:q 0:w"
    )


def test_key_and_metre_come_from_the_signatures():
    made = read(line("F4 A4 C5", fifths=-1, metre="3/4"))
    assert (made.key, made.metre) == (Key.parse("F"), Metre.parse("3/4"))


def test_minor_keeps_do_on_the_relative_major():
    assert read(line("D4 F4 A4 D4", fifths=-1, mode="minor")) == exercise(
        "D minor", "4/4", "-2:q 0:q 2:q -2:q"
    )


@pytest.mark.parametrize(("last", "key"), [("D4:8", "D minor"), ("F4:8", "F"), ("A4:8", "F")])
def test_where_the_mode_is_not_stated_the_last_note_decides(last, key):
    assert read(line("F4 A4 F4 D4", last, fifths=-1, mode=None)).key == Key.parse(key)
    assert read(line("F4 A4 F4 D4", last, fifths=-1, mode="none")).key == Key.parse(key)


def test_the_cut_time_sign_is_kept_apart_from_plain_two_two():
    plain = line("C4:8", metre="2/2")
    assert read(plain).metre == Metre.parse("2/2")
    assert read(plain.replace(b"<time>", b'<time symbol="cut">')).metre == Metre.parse("cut")


def test_a_pickup_is_read_however_the_file_numbers_it():
    expected = exercise("F", "3/4", "-3:q 0:q 2:q 4:q 0:h", pickup=Fraction(1, 4))
    music = (attributes(-1, metre="3/4") + notes("C4"), notes("F4 A4 C5"), notes("F4:4"))
    assert read(score(measures(*music, first=0))) == expected
    assert read(score(measures(*music, first=1))) == expected


def test_ties_are_read_over_the_bar_line():
    data = one(notes("E4:4") + note("G4", 4, _TIE), note("G4", 4, _TIED) + notes("C4:4"))
    assert read(data) == exercise("C", "4/4", "2:h 4:h~ 4:h 0:h")


def test_a_tie_that_only_the_page_shows_is_read_too():
    shown = '<notations><tied type="start"/></notations>'
    assert read(one(note("G4", 4, shown) + notes("G4:4"))) == exercise("C", "4/4", "4:h~ 4:h")


def test_alterations_keep_their_spelling():
    assert read(line("F4 F#4 G4 Ab4", "G4:8")) == exercise("C", "4/4", "3:q 3+:q 4:q 5-:q 4:w")


def test_two_parts_are_read_with_their_names_and_clefs():
    upper = measures(attributes() + notes("G4:8"), notes("E4:8"))
    lower = measures(attributes(clef="<sign>F</sign><line>4</line>") + notes("C3:8"), notes("C3:8"))
    music = music_from_musicxml(score(upper, lower, names=("High", "Low")), "file")
    assert music.exercise == exercise("C", "4/4", "4:w 2:w", "0:w 0:w", octaves=(4, 3))
    assert (music.labels, music.clefs) == (("High", "Low"), (Clef.TREBLE, Clef.BASS))


def test_the_title_is_read():
    head = "<work><work-title> The \n Round </work-title></work>"
    assert music_from_musicxml(
        score(measures(attributes() + notes("C4:8")), head=head), "f"
    ).title == ("The Round")


def test_an_octave_clef_changes_nothing_of_the_sound():
    music = music_from_musicxml(line("C3 D3 E3 C3", clef=_TREBLE8), "f")
    assert music.exercise == exercise("C", "4/4", "0:q 1:q 2:q 0:q", octaves=(3,))
    assert music.clefs == (Clef.TREBLE8,)


def test_a_clef_that_changes_on_the_way_is_the_first_one_here():
    change = "<attributes><clef><sign>F</sign><line>4</line></clef></attributes>"
    music = music_from_musicxml(one(notes("C4:8"), change + notes("C3:8")), "f")
    assert music.clefs == (Clef.TREBLE,)
    assert [pitch.plain for pitch in music.exercise.pitches()] == ["C4", "C3"]


def test_a_transposing_instrument_is_read_at_sounding_pitch():
    clarinet = line("D4 E4 F#4 D4", fifths=2, more=_CLARINET)
    assert read(clarinet) == exercise("C", "4/4", "0:q 1:q 2:q 0:q")
    steps_unstated = clarinet.replace(b"<diatonic>-1</diatonic>", b"")
    assert read(steps_unstated) == read(clarinet)


def test_a_voice_that_is_written_an_octave_higher_sounds_below():
    assert read(line("C5 D5 E5 C5", more=_OCTAVE_DOWN)) == exercise("C", "4/4", "0:q 1:q 2:q 0:q")


@pytest.mark.parametrize(
    ("pitches", "octave", "lowest"),
    [
        ("C4 E4 G4 C4", 4, 0),
        ("G3 A3 B3 C4", 4, -3),
        ("C5 B4 G4 C5", 4, 4),
        ("C3 G2 E2 C2", 2, 0),
        ("E4 G4 C5 C5", 4, 2),
    ],
)
def test_the_line_lies_around_its_do(pitches, octave, lowest):
    part = read(line(pitches)).parts[0]
    assert (part.do_octave, min(tone.step for tone in part.tones())) in (
        (octave, lowest),
        (octave + 1, lowest - 7),
    )
    assert all(-4 <= tone.step <= 8 for tone in part.tones())


def test_rests_that_are_not_drawn_are_rests_all_the_same():
    data = one(notes("C4") + "<forward><duration>2</duration></forward>" + notes("E4:4"))
    assert read(data) == exercise("C", "4/4", "0:q r:q 2:h")


def test_a_second_voice_of_rests_is_no_second_voice():
    second = "<voice>2</voice>"
    data = one(notes("C4:8") + "<backup><duration>8</duration></backup>" + note("r", 8, second))
    assert read(data) == exercise("C", "4/4", "0:w")


def test_a_measure_that_was_cut_in_two_at_a_repeat_is_one_measure():
    repeat = '<barline><repeat direction="backward"/></barline>'
    data = one(notes("C4"), notes("D4:8"), notes("E4:6") + repeat, notes("G4"), notes("C4:6"))
    made = read(data)
    assert made == exercise("C", "4/4", "0:q 1:w 2:hd 4:q 0:hd", pickup=Fraction(1, 4))


def test_that_repeat_signs_are_left_out_is_told():
    repeat = '<barline><repeat direction="backward"/></barline>'
    music = read_music(one(notes("C4:8") + repeat), "f.musicxml")
    assert music.notices == ("formats.repeats",)


def test_marks_that_a_reading_does_not_show_are_left_out_and_named():
    half = "<notations><slur/><fermata/></notations><lyric><text>la</text></lyric>"
    marked = note("C4", 4, half) + notes("C4:4")  # words under some notes only
    direction = "<direction><direction-type><dynamics><p/></dynamics></direction-type></direction>"
    music = music_from_musicxml(one(direction + marked), "f")
    assert music.exercise == exercise("C", "4/4", "0:h 0:h")
    assert music.left_out == (
        LeftOut.WORDS, LeftOut.DYNAMICS, LeftOut.SLURS, LeftOut.ARTICULATIONS,
    )  # fmt: skip
