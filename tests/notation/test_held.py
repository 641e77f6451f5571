"""Lines with ties over the bar line, as the composer makes them, through every format and back."""

from random import Random

import pytest

from bot.music.composer import Composer
from bot.music.exercise_json import exercise_from_json, exercise_to_json
from bot.music.needs import needs
from bot.music.pitch import Key
from bot.music.rhythm import Metre
from bot.music.solfa import Solfa
from bot.music.tonicsolfa import exercise_from_tonicsolfa
from bot.music.tonicsolfa_write import exercise_to_tonicsolfa
from bot.music.turns import retrograde
from bot.music.voice import Clef
from bot.notation.abc import exercise_from_abc
from bot.notation.abc_write import exercise_to_abc
from bot.notation.braille import brf
from bot.notation.brought import read_music
from bot.notation.midi import music_from_midi
from bot.notation.midi_write import midi
from bot.notation.read import exercise_from_musicxml
from bot.notation.words import describe
from bot.notation.write import musicxml
from tests.fakes.world import content
from tests.music.drawn import heard
from tests.music.levels import level
from tests.notation.lines import english


@pytest.fixture(scope="module")
def lines():
    """Some in each simple metre, pickups among them."""
    full = level("p06", "r21")
    composer = Composer(full, full.tones)
    metres = ["4/4", "3/4", "2/4"]
    drawn = [
        composer.draw(Random(seed), metre=Metre.parse(metre), measures=4)
        for metre in metres
        for seed in range(6)
    ]
    made = [line.exercise(Key.parse("F"), 4) for line in drawn]
    assert {bool(each.pickup) for each in made} == {True, False}
    return made


def _ties(made):
    return [note.tied for note in made.parts[0].notes]


def test_scores_and_letters_keep_the_ties(lines):
    for made in lines:
        assert exercise_from_musicxml(musicxml(made, clefs=(Clef.TREBLE,)), "line") == made
        assert exercise_from_abc(exercise_to_abc(made)) == made
        assert exercise_from_json(exercise_to_json(made)) == made
        assert _ties(retrograde(retrograde(made))) == _ties(made)


def test_what_is_only_heard_is_held_as_long(lines):
    for made in lines:
        assert heard(music_from_midi(midi(made), "line").exercise) == heard(made)
        letters = exercise_to_tonicsolfa(made)
        assert heard(exercise_from_tonicsolfa(letters, metre=made.metre)) == heard(made)


def test_words_and_braille_say_where_a_note_is_tied(lines):
    for made in lines:
        told = describe(made, Solfa(), english())
        assert told.count("tied over") == told.count("held") == sum(_ties(made)) > 0
        assert brf(made).count("@C") == sum(_ties(made))


@pytest.mark.parametrize("form", ["letters", "midi"])
def test_music_that_is_brought_needs_the_same_steps_in_formats_without_ties(lines, form):
    sequence = content().sequences["steps-first"]
    for made in lines:
        data = exercise_to_tonicsolfa(made).encode() if form == "letters" else midi(made)
        read = read_music(data, "a line").exercise
        assert sum(_ties(read)) == sum(_ties(made))
        assert needs(read, sequence).rhythm == needs(made, sequence).rhythm
