"""The line and the drone, heard from outside: pitch, time, and no seam."""

from fractions import Fraction

import numpy as np
import pytest

from bot.media.render import make
from bot.media.request import Drone, Line, SoundRequest
from bot.media.tone import DRONE_EDGE_S, RATE_HZ, drone_sound, line_sound, mp3
from bot.music.exercise import Exercise, Note, Part, Tone
from bot.music.pitch import Key, Pitch
from bot.music.rhythm import Metre
from tests.media.listening import cents_off, decoded, loudness_lufs, peak_dbfs

_BPM = 72
_PULSE_S = 60 / _BPM
# Steps above do with their lengths in quarters; None is a rest. A note struck twice is among them.
_SUNG = [(0, 1), (1, 1), (2, 0.5), (2, 0.5), (None, 1), (4, 1.5), (3, 0.5), (1, 1), (0, 1)]


def a_line(*notes: tuple[int | None, float], metre: str = "4/4", key: str = "F") -> Exercise:
    made = tuple(
        Note(
            duration=Fraction(length) / 4,
            tone=None if step is None else Tone(step=step),
        )
        for step, length in notes
    )
    return Exercise(
        key=Key.parse(key), metre=Metre.parse(metre), parts=(Part(notes=made, do_octave=4),)
    )


def starts() -> list[tuple[float, float, Pitch]]:
    """(start, length, pitch) in seconds of what is sung."""
    line, found, at = a_line(*_SUNG), [], 0.0
    for step, length in _SUNG:
        if step is not None:
            found.append((at * _PULSE_S, length * _PULSE_S, line.pitch(Tone(step=step))))
        at += length
    return found


def strength(sound: np.ndarray, hertz: float) -> np.ndarray:
    """How strong a frequency is at each moment, by a window of 20 ms around it."""
    turned = sound * np.exp(-2j * np.pi * hertz * np.arange(len(sound)) / RATE_HZ)
    window = np.hanning(round(0.02 * RATE_HZ))
    return np.abs(np.convolve(turned, window / window.sum(), mode="same"))


def heard_onset(sound: np.ndarray, start_s: float, hertz: float) -> float:
    """When a note has risen half-way from what was there before it to its own strength.

    By its fifth harmonic: there the fading note before it lies far enough away not to be measured.
    """
    track = strength(sound, 5 * hertz)
    first = max(0, round((start_s - 0.05) * RATE_HZ))
    span = track[first : round((start_s + 0.1) * RATE_HZ)]
    lowest = int(np.argmin(span[: round((start_s + 0.01) * RATE_HZ) - first]))
    half = (span[lowest] + span[lowest:].max()) / 2
    return (first + lowest + int(np.argmax(span[lowest:] >= half))) / RATE_HZ


def test_every_note_of_a_line_has_its_pitch():
    sound = decoded(mp3(line_sound(a_line(*_SUNG), tempo_bpm=_BPM)))
    off = [
        cents_off(sound, pitch.frequency_hz(), start + 0.1, start + length - 0.1)
        for start, length, pitch in starts()
    ]
    assert max(off) < 1


def test_every_note_of_a_line_begins_within_ten_milliseconds_of_its_beat():
    sound = decoded(mp3(line_sound(a_line(*_SUNG), tempo_bpm=_BPM)))
    late = [heard_onset(sound, start, pitch.frequency_hz()) - start for start, _, pitch in starts()]
    assert max(map(abs, late)) < 0.010, late


def test_a_rest_is_silent():
    sound = decoded(mp3(line_sound(a_line(*_SUNG), tempo_bpm=_BPM)))
    rest = sound[round((3.1 * _PULSE_S) * RATE_HZ) : round((3.9 * _PULSE_S) * RATE_HZ)]
    assert np.max(np.abs(rest)) < 0.003


def test_a_tone_struck_twice_is_heard_twice():
    sound = line_sound(a_line((0, 1), (0, 1)), tempo_bpm=_BPM)
    level = strength(sound, Pitch.parse("F4").frequency_hz())
    seam = level[round((_PULSE_S - 0.05) * RATE_HZ) : round((_PULSE_S + 0.05) * RATE_HZ)]
    assert seam.min() < 0.3 * level.max()


def test_a_tie_is_one_tone():
    tied = Exercise(
        key=Key.parse("F"),
        metre=Metre(),
        parts=(
            Part(
                notes=(
                    Note(duration=Fraction(1, 4), tone=Tone(step=0), tied=True),
                    Note(duration=Fraction(1, 4), tone=Tone(step=0)),
                )
            ),
        ),
    )
    assert np.array_equal(line_sound(tied, tempo_bpm=60), line_sound(a_line((0, 2)), tempo_bpm=60))


@pytest.mark.parametrize(
    ("metre", "bpm", "seconds"), [("4/4", 60, 10.0), ("6/8", 60, 20 / 3), ("2/4", 120, 5.0)]
)
def test_a_pulse_lasts_a_beat_of_the_tempo(metre, bpm, seconds):
    line = a_line(*[(0, 1)] * 10, metre=metre)
    assert len(line_sound(line, tempo_bpm=bpm)) / RATE_HZ == pytest.approx(seconds, abs=0.001)


def test_two_parts_sound_at_once():
    upper = a_line((4, 4)).parts[0]
    lower = a_line((0, 4)).parts[0]
    both = Exercise(key=Key.parse("F"), metre=Metre(), parts=(upper, lower))
    sound = line_sound(both, tempo_bpm=60)
    for name in ("F4", "C5"):
        assert strength(sound, Pitch.parse(name).frequency_hz())[RATE_HZ] > 0.02


def test_a_line_is_as_loud_as_the_other_sounds():
    sound = decoded(mp3(line_sound(a_line(*_SUNG), tempo_bpm=_BPM)))
    assert peak_dbfs(sound) <= -3
    assert loudness_lufs(sound) == pytest.approx(-19, abs=1)


@pytest.mark.parametrize("bpm", [29, 201])
def test_a_tempo_at_which_nobody_reads_is_refused(bpm):
    with pytest.raises(ValueError, match="30 to 200"):
        line_sound(a_line((0, 1)), tempo_bpm=bpm)


def test_a_line_of_rests_has_no_sound():
    with pytest.raises(ValueError, match="no part has a note"):
        line_sound(a_line((None, 4)))


@pytest.mark.parametrize("name", ["Bb2", "Eb3", "F3", "A4"])
@pytest.mark.parametrize("a4_hz", [440.0, 442.0])
def test_a_drone_has_its_pitch(name, a4_hz):
    do = Pitch.parse(name)
    sound = decoded(mp3(drone_sound(do, a4_hz=a4_hz)))
    assert cents_off(sound, do.frequency_hz(a4_hz), 1.0, 7.0) < 1


@pytest.mark.parametrize("name", ["Bb2", "Eb3", "F3", "B3", "A4"])
def test_a_drone_goes_round_without_a_seam(name):
    """Played twice over, the seam is no rougher than any other place."""
    sound = decoded(mp3(drone_sound(Pitch.parse(name))))
    edge = round(DRONE_EDGE_S * RATE_HZ)
    once = sound[edge : len(sound) - edge]
    twice = np.concatenate([once, once])
    bend = np.abs(np.diff(twice, 2))
    seam = bend[len(once) - 20 : len(once) + 20].max()
    assert seam < 1.1 * bend[: len(once) - 50].max()
    spectrum = np.fft.rfft(twice)
    spectrum[np.fft.rfftfreq(len(twice), 1 / RATE_HZ) < 10_000] = 0
    clicks = np.abs(np.fft.irfft(spectrum, len(twice)))
    assert clicks[len(once) - 400 : len(once) + 400].max() < 0.001 * np.max(np.abs(once))


def test_a_drone_is_steady():
    sound = decoded(mp3(drone_sound(Pitch.parse("F3"))))
    parts = [np.std(part) for part in np.array_split(sound[22_050:-22_050], 8)]
    assert max(parts) / min(parts) < 1.02


def test_the_worker_makes_both_and_names_them_apart():
    line = SoundRequest(sound=Line(exercise=a_line((0, 1), (1, 1)), tempo_bpm=60))
    faster = SoundRequest(sound=Line(exercise=a_line((0, 1), (1, 1)), tempo_bpm=63))
    drone = SoundRequest(sound=Drone(do=Pitch.parse("F3")))
    assert len({line.digest(), faster.digest(), drone.digest()}) == 3
    assert len(decoded(make(line))) / RATE_HZ == pytest.approx(2, abs=0.001)
    assert len(decoded(make(drone))) / RATE_HZ == pytest.approx(9, abs=0.02)
