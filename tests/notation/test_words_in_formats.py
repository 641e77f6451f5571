"""Words go with their line into every format, and come back from those that can be read."""

import io
from dataclasses import replace

import mido
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from music21 import converter

from bot.errors import InputProblems
from bot.music.exercise import Tone
from bot.music.tonicsolfa import exercise_from_tonicsolfa
from bot.music.tonicsolfa_write import exercise_to_tonicsolfa
from bot.notation.abc import exercise_from_abc
from bot.notation.abc_write import exercise_to_abc
from bot.notation.braille import brf
from bot.notation.brought import read_music
from bot.notation.midi import music_from_midi
from bot.notation.midi_write import midi
from tests.music.drawn import exercises
from tests.notation.lines import exercise

_LINE = exercise("F", "4/4", "0:q 1:q 2:q 0:q 4:q 3:q 2:h 1:q 2:q 3:q 1:q 1:q r:q 0:h")
_WORDS = (
    *("Twin-", "kle,", "twin-", "kle,", "lit-", "tle", "star"),
    *("how", "I", "won-", "der", "what", "are"),
)
_SYLLABLES = ("snow", "lan-", "terns,", "I’ll", "stär", "a\u2009way", "Come!", "sing:", "«oh»")
_PLAIN = tuple(Tone(step=step) for step in range(-5, 10))


def _worded(made=_LINE, words=_WORDS):
    return replace(made, parts=(replace(made.parts[0], words=words),))


@st.composite
def _sung(draw, *, syllables=_SYLLABLES, **options):
    made = draw(exercises(**options))
    parts = [
        replace(part, words=tuple(draw(st.sampled_from(syllables)) for _ in part.tones()))
        for part in made.parts
    ]
    return replace(made, parts=tuple(parts))


def _words(made):
    return [part.words for part in made.parts]


@given(made=_sung(tones=_PLAIN, do_octaves=(3, 4)))
@settings(max_examples=25)
def test_words_come_back_from_midi(made):
    assert _words(music_from_midi(midi(made), "own.mid").exercise) == _words(made)


@given(made=_sung(tones=_PLAIN, do_octaves=(3, 4)))
@settings(max_examples=25)
def test_words_come_back_from_abc(made):
    assert _words(exercise_from_abc(exercise_to_abc(made))) == _words(made)


@given(made=_sung(syllables=_SYLLABLES[:-1]))
@settings(max_examples=25)
def test_words_come_back_from_letters(made):
    read = exercise_from_tonicsolfa(exercise_to_tonicsolfa(made), metre=made.metre)
    assert _words(read) == _words(made)


def test_mido_and_music21_read_a_syllable_at_every_note():
    data = midi(_worded(words=(*_WORDS[:6], "stär", *_WORDS[7:])))
    track = mido.MidiFile(file=io.BytesIO(data)).tracks[1]
    kinds = [message.type for message in track]
    texts = [message.text for message in track if message.type == "lyrics"]

    assert texts[:6] == ["Twin-", "kle, ", "twin-", "kle, ", "lit-", "tle "]
    # A syllable comes just before its note, at the same time.
    for at, kind in enumerate(kinds):
        if kind == "lyrics":
            assert (kinds[at + 1], track[at + 1].time) == ("note_on", 0)
    read = converter.parse(data, format="midi").parts[0].flatten().notes
    assert [note.lyrics[0].rawText.strip() for note in read] == [*_WORDS[:6], "stär", *_WORDS[7:]]


def _midi_with(*texts, kind="lyrics"):
    file = mido.MidiFile(type=1, ticks_per_beat=480)
    words, notes = mido.MidiTrack(), mido.MidiTrack()
    notes.append(mido.MetaMessage("key_signature", key="F"))
    for count, text in enumerate(texts):
        words.append(mido.MetaMessage(kind, text=text, time=480 if count else 0))
        notes.append(mido.Message("note_on", note=65 + 2 * (count % 2)))
        notes.append(mido.Message("note_off", note=65 + 2 * (count % 2), time=480))
    file.tracks += [words, notes]
    written = io.BytesIO()
    file.save(file=written)
    return music_from_midi(written.getvalue(), "tune.mid")


@pytest.mark.parametrize(
    "texts",
    [
        ("Lan", "terns ", "glow ", "bright "),  # blanks end words
        ("\\Lan", "terns", "/glow", " bright"),  # karaoke: they begin them, signs begin lines
        ("Lan-", "terns", "glow", "bright"),  # hyphens alone
        ("Lan-", "terns ", "glow\r", "bright\n"),
    ],
)
def test_other_ways_to_write_words_in_midi_are_read(texts):
    assert _midi_with(*texts).exercise.parts[0].words == ("Lan-", "terns", "glow", "bright")


def test_a_word_with_hyphens_is_parted_in_letters_and_one_note_keeps_its_own():
    typed = exercise_from_tonicsolfa("KEY F. |d :r |m :d ||\nTwin-kle lit-tle")
    assert typed.parts[0].words == ("Twin-", "kle", "lit-", "tle")
    own = _worded(typed, ("ding-dong", "oh", "ding-", "dong"))
    assert _words(exercise_from_tonicsolfa(exercise_to_tonicsolfa(own))) == _words(own)


def test_half_a_verse_is_left_out_and_said():
    music = _midi_with("Lan-", "terns", "", "bright")
    assert music.exercise.parts[0].words == ()
    assert "formats.words" in music.notices
    abc = read_music(b"X:1\nM:2/4\nL:1/4\nK:F\nF G|A2|]\nw: on-ly\n", "half.abc")
    assert abc.exercise.parts[0].words == ()
    assert abc.notices == ("formats.words",)
    assert read_music(exercise_to_abc(_worded()).encode(), "whole.abc").notices == ()


def test_signs_of_an_abc_line_of_words():
    text = "X:1\nM:4/4\nL:1/4\nK:F\n{}\n"
    body = "F G A F|c- c B A|\nw: Twin-kle lit - | star_~oh way~up high\nw: a sec-ond verse\n"
    held = exercise_from_abc(text.format(body + "F4|]\nw: the\\-end"))
    assert held.parts[0].words == ()  # the fourth note only holds a syllable
    body = "F G A2|c2- c A|\nw: Twin-kle lit-| star * way~up\nw: a sec-ond verse\n"
    made = exercise_from_abc(text.format(body + "F4|]\nw: the\\-end"))
    assert made.parts[0].words == ("Twin-", "kle", "lit-", "star", "way\u2009up", "the-end")


def test_letters_have_their_words_below_each_under_its_note():
    made = exercise("F", "2/4", "0:q 1:e 2:e 3:h 2:q 1:q 0:h")
    text = exercise_to_tonicsolfa(
        _worded(made, ("Soft", "and", "still", "they", "go", "a-", "way"))
    )

    assert text == (
        "KEY F.  |d   :r.  m    |f :- |m :r |d :- ||\n         Soft and still they  go a- way\n"
    )


@pytest.mark.parametrize(
    ("text", "place", "problem"),
    [
        ("|d :r |m :d\nTwin- kle star\n", "line 3, column 1", "3 syllables under 4 notes"),
        ("|d :r\nTwin- kle\n|m :d ||\n", "line 4, column 1", "there are no words below"),
        ("|d :r ||\nTwin- kle\nso far\n", "line 4, column 1", "a second line of words"),
    ],
)
def test_words_that_do_not_fit_their_letters_are_told_by_line(text, place, problem):
    with pytest.raises(InputProblems) as caught:
        exercise_from_tonicsolfa(f"KEY F.\n{text}")
    assert [(fault.place, fault.problem) for fault in caught.value.faults] == [(place, problem)]


def test_words_may_begin_with_key_and_letters_may_go_over_a_line():
    made = exercise_from_tonicsolfa("KEY F.\n|d :r\nKey to\n|m :-.\nr ||\nme now\n")
    assert made.parts[0].words == ("Key", "to", "me", "now")


def _braille(made, **options):
    return brf(made, **options).replace("\f", "").split("\r\n")[1:-1]


def test_braille_pairs_a_line_of_words_with_its_music():
    # Music Braille Code 2015, section 35: words from the margin, music from the third cell, print's
    # hyphens left out, no numbers of measures, the octave told again where a line begins.
    assert _braille(_worded()) == [
        *[",TWINKLE1 TWINKLE1 LITTLE STAR", '  "]\\[] .?WS'],
        *["HOW ,I WONDER WHAT ARE", '  "\\[W\\ \\VQ<K'],
    ]


def test_braille_ends_a_pair_with_a_word_or_marks_that_it_goes_on():
    long = _braille(_worded(), cells=24)
    assert long[:4] == [",TWINKLE1 TWINKLE1", '  "]\\[]', "LITTLE STAR", "  .?WS"]
    words = ("Al-", "le-", "lu-", "ia,", "al-", "le-", "lu-", "ia,", *_WORDS[7:])
    over = _braille(_worded(words=("A-", "men", "and", *words[:4], *words[8:])), cells=16)
    assert over[0] == ",AMEN AND ,AL-"
    assert max(map(len, over)) <= 16


def test_braille_counts_words_that_share_a_note():
    made = exercise("F", "2/4", "0:q 1:q 2:h")
    words = ("one\u2009two", "a-", "way")
    assert _braille(_worded(made, words)) == ["8ONE TWO0 AWAY", '  "]B\\ S<K']
