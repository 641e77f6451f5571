"""From a request to bytes, and what a request is known by."""

import dataclasses
from fractions import Fraction

import pytest

from bot import __version__
from bot.errors import RenderFailed
from bot.media import render, request
from bot.media.request import Engraved, EngravingRequest, KeyGiving, SoundRequest, StartingNote
from bot.music.exercise import Exercise, Note, Part, Tone
from bot.music.pitch import Key, Pitch
from bot.music.rhythm import Metre
from bot.music.tonality import KeyPattern
from bot.music.voice import Clef
from tests.media.listening import cents_off, decoded

_NOTES = tuple(Note(duration=Fraction(1, 4), tone=Tone(step=step)) for step in (0, 1, 2, 0))
_LINE = Exercise(key=Key.parse("F"), metre=Metre(), parts=(Part(notes=_NOTES),))
_PICTURE = EngravingRequest(exercise=_LINE, clefs=(Clef.TREBLE,))
_NOTE = SoundRequest(sound=StartingNote(pitch=Pitch.parse("F4")))
_KEY = SoundRequest(sound=KeyGiving(key=Key.parse("F"), do=Pitch.parse("F4")))

# One other value for every field of every request: each of them makes another picture or sound.
_OTHERS = [
    dataclasses.replace(_PICTURE, exercise=_LINE.in_key(Key.parse("G"), (4,))),
    dataclasses.replace(_PICTURE, exercise=_LINE.in_key(Key.parse("F"), (3,))),
    dataclasses.replace(_PICTURE, clefs=(Clef.BASS,)),
    dataclasses.replace(_PICTURE, kind=Engraved.SVG),
    dataclasses.replace(_PICTURE, labels=("Part I",)),
    dataclasses.replace(_PICTURE, mark_do=False),
    dataclasses.replace(_PICTURE, do_name="1"),
    dataclasses.replace(_PICTURE, do_is_tonic=True),
    dataclasses.replace(_PICTURE, measure_numbers=False),
    dataclasses.replace(_PICTURE, tempo_bpm=60),
    dataclasses.replace(_PICTURE, phone=True),
    dataclasses.replace(_PICTURE, width_px=800),
    _PICTURE,
    SoundRequest(sound=StartingNote(pitch=Pitch.parse("F3"))),
    SoundRequest(sound=StartingNote(pitch=Pitch.parse("F4"), seconds=4.0)),
    SoundRequest(sound=StartingNote(pitch=Pitch.parse("F4")), a4_hz=442.0),
    _NOTE,
    SoundRequest(sound=KeyGiving(key=Key.parse("F"), do=Pitch.parse("F3"))),
    SoundRequest(sound=KeyGiving(key=Key.parse("D minor"), do=Pitch.parse("F4"))),
    SoundRequest(
        sound=KeyGiving(key=Key.parse("F"), do=Pitch.parse("F4"), pattern=KeyPattern.CHORD)
    ),
    SoundRequest(sound=KeyGiving(key=Key.parse("F"), do=Pitch.parse("F4"), tempo_bpm=72)),
    _KEY,
]


def test_every_difference_between_requests_is_in_their_digests():
    assert len({each.digest() for each in _OTHERS}) == len(_OTHERS)


def test_equal_requests_have_one_digest_and_one_place_in_a_set():
    again = EngravingRequest(exercise=dataclasses.replace(_LINE), clefs=(Clef.TREBLE,))
    assert again.digest() == _PICTURE.digest()
    assert len({again, _PICTURE}) == 1
    assert SoundRequest(sound=_NOTE.sound, a4_hz=440).digest() == _NOTE.digest()


def test_another_release_makes_its_pictures_anew(monkeypatch):
    before = _PICTURE.digest()
    monkeypatch.setattr(request, "__version__", __version__ + ".1")
    assert _PICTURE.digest() != before


@pytest.mark.parametrize(
    ("kind", "beginning"),
    [
        (Engraved.PNG, b"\x89PNG\r\n"),
        (Engraved.SVG, b"<svg"),
        (Engraved.MUSICXML, b"<?xml"),
    ],
)
def test_an_engraving_comes_as_it_is_wanted(kind, beginning):
    made = render.make(dataclasses.replace(_PICTURE, kind=kind, width_px=400))
    assert made.startswith(beginning)
    assert len(made) > 500


def test_a_picture_has_the_width_asked_for():
    made = render.make(dataclasses.replace(_PICTURE, width_px=432))
    assert int.from_bytes(made[16:20], "big") == 432  # PNG: the width of the header chunk


def test_the_starting_note_is_the_one_asked_for():
    sound = decoded(render.make(_NOTE))
    assert cents_off(sound, 349.23, 0.1, 3.2) < 1


def test_the_key_begins_with_its_do():
    sound = decoded(render.make(_KEY))
    assert cents_off(sound, 349.23, 0.2, 0.8) < 1


def test_what_cannot_be_made_is_said_without_a_library_error():
    wrong = SoundRequest(sound=KeyGiving(key=Key.parse("F"), do=Pitch.parse("G4")))
    with pytest.raises(RenderFailed, match="the sound of F major from G4 could not be made: do is"):
        render.make(wrong)


def test_a_picture_that_cannot_be_made_is_said_without_the_labels():
    wrong = dataclasses.replace(_PICTURE, labels=("Ann", "Bob"))
    with pytest.raises(RenderFailed, match="the picture of a line in F major") as caught:
        render.make(wrong)
    assert "Ann" not in str(caught.value)
