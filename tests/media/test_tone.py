"""The sounds, heard from outside: what comes out of the MP3, not what was meant to go in."""

import io
from functools import cache

import numpy as np
import pytest
import soundfile

from bot.media.loudness import integrated_lufs
from bot.media.tone import RATE_HZ, key_sound, light_mp3, mp3, pitch_sound
from bot.music.pitch import Key, Mode, Pitch
from bot.music.tonality import KeyPattern
from tests.media.listening import (
    cents_off,
    decoded,
    loudness_lufs,
    peak_dbfs,
    share_above,
    strength_at,
    through_a_phone,
)

# Every note that a voice can be given, B flat 2 to E5.
_NOTES = [
    f"{name}{octave}"
    for octave in (2, 3, 4, 5)
    for name in ("C", "C#", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")
    if 46 <= Pitch.parse(f"{name}{octave}").midi <= 76
]
# Where do lies for the lowest and the highest lines that the voices read.
_DOS = ["G2", "Bb2", "E3", "A3", "Eb4", "B4"]
# How a key is given, with its do: triad in two modes, chord, scale, do.
_WAYS = [(pattern, mode) for pattern in KeyPattern for mode in Mode]


@cache
def heard_note(name: str, a4_hz: float = 440.0) -> np.ndarray:
    return decoded(mp3(pitch_sound(Pitch.parse(name), a4_hz=a4_hz)))


@cache
def heard_key(name: str, pattern: KeyPattern, mode: Mode = Mode.MAJOR) -> np.ndarray:
    do = Pitch.parse(name)
    key = Key(fifths=Key.parse(do.name.plain).fifths, mode=mode)
    return decoded(mp3(key_sound(key, do, pattern, tempo_bpm=96)))


@pytest.mark.parametrize("name", _NOTES)
def test_every_note_is_within_one_cent(name):
    assert cents_off(heard_note(name), Pitch.parse(name).frequency_hz(), 0.1, 3.2) < 1


@pytest.mark.parametrize("a4_hz", [430.0, 442.0, 450.0])
@pytest.mark.parametrize("name", ["C3", "A4"])
def test_another_standard_pitch_is_met_too(name, a4_hz):
    expected = Pitch.parse(name).frequency_hz() * a4_hz / 440
    assert cents_off(heard_note(name, a4_hz), expected, 0.1, 3.2) < 1


@pytest.mark.parametrize("name", ["Bb2", "C3", "D3", "F3"])
def test_a_phone_without_bass_gives_the_same_pitch(name):
    small = through_a_phone(heard_note(name))
    assert cents_off(small, Pitch.parse(name).frequency_hz(), 0.2, 3.2) < 1


@pytest.mark.parametrize("name", _NOTES)
def test_most_of_a_note_can_be_heard_from_a_phone(name):
    assert share_above(heard_note(name), 250) > 0.6


@pytest.mark.parametrize("name", ["Bb2", "C3"])
def test_the_note_sung_is_itself_in_the_sound(name):
    level = strength_at(heard_note(name)[: 3 * RATE_HZ], Pitch.parse(name).frequency_hz())
    assert level > -40


@pytest.mark.parametrize(("pattern", "mode"), _WAYS)
@pytest.mark.parametrize("name", _DOS)
def test_most_of_a_key_can_be_heard_from_a_phone(name, pattern, mode):
    assert share_above(heard_key(name, pattern, mode), 250) > 0.5


def test_no_sound_peaks_over_minus_three():
    sounds = [heard_note(name) for name in _NOTES]
    sounds += [heard_key(name, *way) for name in _DOS for way in _WAYS]
    assert max(peak_dbfs(sound) for sound in sounds) <= -3


def test_all_sounds_of_all_voices_are_equally_loud_within_one_unit():
    levels = [loudness_lufs(heard_note(name)) for name in _NOTES]
    levels += [loudness_lufs(heard_key(name, *way)) for name in _DOS for way in _WAYS]
    assert max(levels) - min(levels) < 1
    assert min(levels) > -21


@pytest.mark.parametrize("way", [*_WAYS, None])
def test_neither_end_clicks(way):
    sound = heard_note("C3") if way is None else heard_key("C3", *way)
    ends = np.concatenate([sound[:30], sound[-30:]])
    assert np.max(np.abs(ends)) < 0.002
    rises = np.abs(np.diff(np.concatenate([[0.0], sound, [0.0]])))
    assert max(rises[:441].max(), rises[-441:].max()) < 0.2 * rises.max()


@pytest.mark.parametrize("way", _WAYS)
def test_no_note_of_a_key_begins_with_a_click(way):
    """A click is energy where the tone has none: above all its harmonics."""
    sound = heard_key("Eb4", *way)
    spectrum = np.fft.rfft(sound)
    spectrum[np.fft.rfftfreq(len(sound), 1 / RATE_HZ) < 10_000] = 0
    assert np.max(np.abs(np.fft.irfft(spectrum, len(sound)))) < 0.001 * np.max(np.abs(sound))


def test_a_note_sounds_for_three_seconds():
    sound = heard_note("G3")
    late = sound[round(2.9 * RATE_HZ) : 3 * RATE_HZ]
    early = sound[round(0.1 * RATE_HZ) : round(0.2 * RATE_HZ)]
    assert 20 * np.log10(np.std(late) / np.std(early)) > -12


def test_less_than_three_seconds_is_refused():
    with pytest.raises(ValueError, match="three seconds at least"):
        pitch_sound(Pitch.parse("A4"), seconds=2.9)


@pytest.mark.parametrize("a4_hz", [429.9, 450.1, float("nan")])
def test_a_standard_pitch_that_no_choir_uses_is_refused(a4_hz):
    with pytest.raises(ValueError, match="between 430 and 450"):
        pitch_sound(Pitch.parse("A4"), a4_hz=a4_hz)


def test_a_do_of_another_key_is_refused():
    with pytest.raises(ValueError, match="the do of F major is F"):
        key_sound(Key.parse("F"), Pitch.parse("E4"), KeyPattern.TRIAD)


@pytest.mark.parametrize(
    ("key", "do", "pattern", "expected"),
    [
        ("Eb", "Eb4", KeyPattern.TRIAD, "Eb4 G4 Bb4 G4 Eb4"),
        ("A", "A2", KeyPattern.TRIAD, "A2 C#3 E3 C#3 A2"),
        ("c minor", "Eb4", KeyPattern.TRIAD, "C4 Eb4 G4 Eb4 C4"),
        ("D", "D4", KeyPattern.DO, "D4"),
        (
            "G",
            "G3",
            KeyPattern.SCALE,
            "G3 A3 B3 C4 D4 E4 F#4 G4 F#4 E4 D4 C4 B3 A3 G3",
        ),
    ],
)
def test_the_key_is_given_note_by_note(key, do, pattern, expected):
    names = expected.split()
    sound = decoded(mp3(key_sound(Key.parse(key), Pitch.parse(do), pattern, tempo_bpm=60)))
    off = [
        cents_off(sound, Pitch.parse(name).frequency_hz(), beat + 0.25, beat + 0.95)
        for beat, name in enumerate(names)
    ]
    assert max(off) < 1


def test_the_chord_holds_do_mi_and_so_at_once():
    sound = heard_key("F3", KeyPattern.CHORD)[: 2 * RATE_HZ]
    levels = [strength_at(sound, Pitch.parse(name).frequency_hz()) for name in ("F3", "A3", "C4")]
    between = strength_at(sound, Pitch.parse("G3").frequency_hz())
    assert min(levels) > between + 30
    assert max(levels) - min(levels) < 6


@pytest.mark.parametrize(
    ("tempo_bpm", "seconds"), [(40, 6), (60, 6), (72, 5), (120, 3), (400, 2.727)]
)
def test_the_key_is_given_at_the_readings_tempo_where_that_is_comfortable(tempo_bpm, seconds):
    sound = key_sound(Key.parse("C"), Pitch.parse("C4"), KeyPattern.TRIAD, tempo_bpm=tempo_bpm)
    assert len(decoded(mp3(sound))) / RATE_HZ == pytest.approx(seconds, abs=0.001)


def test_the_same_sound_has_the_same_bytes():
    first = mp3(pitch_sound(Pitch.parse("Bb3")))
    assert mp3(pitch_sound(Pitch.parse("Bb3"))) == first
    assert mp3(pitch_sound(Pitch.parse("B3"))) != first


@pytest.mark.parametrize("hertz", [60, 440, 1000, 3000, 9000])
def test_the_loudness_that_levels_the_sounds_is_the_recommendations(hertz):
    sine = 0.25 * np.sin(2 * np.pi * hertz * np.arange(3 * RATE_HZ) / RATE_HZ)
    assert integrated_lufs(sine, RATE_HZ) == pytest.approx(loudness_lufs(sine), abs=0.05)


def test_a_full_sine_of_997_hertz_measures_as_the_recommendation_says():
    """BS.1770-4: a 0 dBFS sine of 997 Hz in one channel reads -3.01 LUFS."""
    sine = np.sin(2 * np.pi * 997 * np.arange(3 * RATE_HZ) / RATE_HZ)
    assert integrated_lufs(sine, RATE_HZ) == pytest.approx(-3.01, abs=0.02)


def test_silence_has_no_loudness():
    assert integrated_lufs(np.zeros(RATE_HZ), RATE_HZ) == float("-inf")


def test_a_light_sound_takes_less_than_half_the_bytes_and_sounds_the_same():
    made = key_sound(Key.parse("Bb"), Pitch.parse("Bb3"), KeyPattern.TRIAD, tempo_bpm=66)
    plain, light = mp3(made), light_mp3(made)
    assert len(light) < 0.5 * len(plain)
    heard, rate = soundfile.read(io.BytesIO(light))
    assert rate == RATE_HZ // 2
    assert len(heard) == len(made[::2])

    def noise_db(sound, meant):
        meant = meant[: len(sound)]
        return 10 * np.log10(((sound[: len(meant)] - meant) ** 2).sum() / (meant**2).sum())

    assert noise_db(heard, made[::2]) < noise_db(soundfile.read(io.BytesIO(plain))[0], made) + 1.5


def test_a_light_note_is_within_one_cent():
    heard, rate = soundfile.read(io.BytesIO(light_mp3(pitch_sound(Pitch.parse("E5")))))
    wide = np.interp(np.arange(2 * len(heard)) / 2, np.arange(len(heard)), heard)
    assert cents_off(wide, Pitch.parse("E5").frequency_hz(), 0.1, 3.2) < 1
    assert rate == RATE_HZ // 2
