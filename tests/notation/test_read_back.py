"""What was written, read again: by the program itself, by music21, and by partitura offline."""

import socket
import warnings
from fractions import Fraction

import music21
import pytest
from hypothesis import given, settings

from bot.music.exercise import Tone
from bot.music.pitch import Key, Mode
from bot.music.solfa import Solfa
from bot.music.voice import Clef
from bot.notation.read import exercise_from_musicxml, music_from_musicxml
from bot.notation.write import musicxml
from bot.notation.written import as_written
from tests.notation.lines import exercise
from tests.notation.made import exercises, sung

LINES = {
    "plain": exercise("F", "4/4", "0:q 1:q 2:h 2:q 3:e 2:e 4:h 4:qd 2:e 3:q r:q 0:w"),
    "pickup": exercise("Bb", "3/4", "-3:q 0:q 2:q 4:q 3:hd 0:h", pickup=Fraction(1, 4)),
    "ties": exercise("D", "4/4", "0:q 2:5/4 4:3/2 r:5/8 0:3/8"),
    "minor": exercise("C minor", "6/8", "-2:qd 4+:q 5:e 0:ed 1:s 2:e -2:qd"),
    "cut": exercise("Eb", "cut", "0:h 3+:q 4:q 4-:q 4:q 0:h"),
    "low": exercise("Bb", "2/4", "0:q 4:e 3:e 2:q -1:q", octaves=(2,)),
    "parts": exercise("G", "4/4", "4:h 2:h 0:w", "2:q 1:q 0:h -3:w", "0:w 0:w", octaves=(4, 4, 3)),
}


def write(made, clef=Clef.TREBLE):
    return musicxml(made, clefs=(clef,) * len(made.parts))


def heard(made):
    return [sung(made, part) for part in range(len(made.parts))]


@settings(deadline=None)
@given(exercises())
def test_what_is_written_is_read_again_note_for_note(made):
    read = exercise_from_musicxml(write(made), "made")
    written = as_written(made)
    assert (read.key, read.metre, read.pickup) == (made.key, made.metre, made.pickup)
    assert heard(read) == heard(made)
    assert [[(n.duration, n.tied) for n in part.notes] for part in read.parts] == [
        [(n.duration, n.tied) for n in part.notes] for part in written.parts
    ]


@pytest.mark.parametrize("name", LINES)
def test_a_line_keeps_its_do_when_it_is_read_again(name):
    assert exercise_from_musicxml(write(LINES[name]), name) == as_written(LINES[name])


@pytest.mark.parametrize("clef", Clef)
def test_a_clef_changes_the_page_and_never_the_sound(clef):
    read = music_from_musicxml(write(LINES["plain"], clef), "plain")
    assert read.exercise == LINES["plain"]
    assert read.clefs == (clef,)


@pytest.mark.parametrize("clef", Clef)
@pytest.mark.parametrize("name", LINES)
def test_music21_reads_the_same_music(name, clef):
    made = LINES[name]
    score = music21.converter.parseData(write(made, clef).decode(), format="musicxml")
    for index, part in enumerate(score.parts):
        notes = part.flatten().stripTies().notes
        found = [
            (
                Fraction(note.offset) / 4,
                Fraction(note.quarterLength) / 4,
                note.pitch.nameWithOctave.replace("-", "b"),
            )
            for note in notes
        ]
        assert found == sung(made, index)
    key = score.flatten().getElementsByClass(music21.key.Key).first()
    assert (key.sharps, key.mode) == (made.key.fifths, made.key.mode.value)


@pytest.fixture
def no_network(monkeypatch):
    def refuse(*_):
        raise AssertionError("a test went to the network")

    monkeypatch.setattr(socket.socket, "connect", refuse)
    monkeypatch.setattr(socket, "getaddrinfo", refuse)


@pytest.mark.parametrize("name", LINES)
def test_partitura_reads_the_same_music_without_a_network(name, no_network, tmp_path):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import partitura

        file = tmp_path / "line.musicxml"
        file.write_bytes(write(LINES[name]))
        score = partitura.load_musicxml(file)
    for index, part in enumerate(score.parts):
        quarter = 4 * part.quarter_durations()[0][1]
        names = {2: "##", 1: "#", 0: "", None: "", -1: "b", -2: "bb"}
        found = [
            (
                Fraction(int(note.start.t), int(quarter)),
                Fraction(int(note.duration_tied), int(quarter)),
                f"{note.step}{names[note.alter]}{note.octave}",
            )
            for note in part.notes_tied
        ]
        assert sorted(found) == sorted(sung(LINES[name], index))


@pytest.mark.parametrize("mode", Mode)
@pytest.mark.parametrize("fifths", range(-5, 6))
def test_syllables_are_those_that_music21_gives_from_the_same_do(fifths, mode):
    key = Key(fifths=fifths, mode=mode)
    scale = music21.scale.MajorScale(key.do.plain.replace("b", "-"))
    for step in range(-7, 15):
        for alter in (-1, 0, 1):
            pitch = key.pitch(step, alter, 4).plain.replace("b", "-")
            theirs = scale.solfeg(music21.pitch.Pitch(pitch))
            assert Solfa(fifth="sol").name(Tone(step=step, alter=alter), key) == theirs
