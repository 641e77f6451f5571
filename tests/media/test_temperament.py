"""Frequencies against the table that any acoustics book prints for A4 = 440 Hz (ISO 16:1975)."""

import pytest

from bot.music.pitch import Pitch

_PRINTED_HZ = {
    "Bb2": 116.54, "B2": 123.47, "C3": 130.81, "C#3": 138.59, "D3": 146.83, "Eb3": 155.56,
    "E3": 164.81, "F3": 174.61, "F#3": 185.00, "G3": 196.00, "Ab3": 207.65, "A3": 220.00,
    "Bb3": 233.08, "B3": 246.94, "C4": 261.63, "C#4": 277.18, "D4": 293.66, "Eb4": 311.13,
    "E4": 329.63, "F4": 349.23, "F#4": 369.99, "G4": 392.00, "Ab4": 415.30, "A4": 440.00,
    "Bb4": 466.16, "B4": 493.88, "C5": 523.25, "C#5": 554.37, "D5": 587.33, "Eb5": 622.25,
    "E5": 659.26,
}  # fmt: skip


@pytest.mark.parametrize(("name", "printed_hz"), _PRINTED_HZ.items())
def test_a_note_has_the_frequency_that_is_printed(name, printed_hz):
    assert round(Pitch.parse(name).frequency_hz(), 2) == printed_hz


@pytest.mark.parametrize(("sharp", "flat"), [("C#4", "Db4"), ("G#3", "Ab3"), ("E#4", "F4")])
def test_two_spellings_of_one_key_on_the_piano_sound_alike(sharp, flat):
    assert Pitch.parse(sharp).frequency_hz() == Pitch.parse(flat).frequency_hz()


def test_another_standard_pitch_moves_every_note_in_proportion():
    assert Pitch.parse("C3").frequency_hz(430) == pytest.approx(130.8128 * 430 / 440, rel=1e-6)
